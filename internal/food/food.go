// Package food is the catalogue: what a cook can ask for, how big a piece of it usually
// is, how heat moves in it, which safety rule it falls under and at which water
// temperatures the trade cooks it.
//
// The catalogue is data, not code: TOML tables and one CSV file in data/, embedded, each
// number standing in a table that names its source. A value without a published source
// says "common practice, no source" or "from memory". Masses are kilograms, lengths
// metres, temperatures °C inside the program; the data files use grams, millimetres and
// square centimetres and say so in their keys.
//
// Words live in locales/<tag>.toml, never here. Start with [Load] and [Catalogue.Food].
package food

import (
	"slices"
	"time"

	"bagwatch/internal/quantity"
)

// ID names a food in plain trade English, such as "beef-ribeye".
type ID string

// Group is the part of the counter a food comes from.
type Group string

// The groups.
const (
	Beef       Group = "beef"
	Veal       Group = "veal"
	Lamb       Group = "lamb"
	Pork       Group = "pork"
	Game       Group = "game"
	Chicken    Group = "chicken"
	Turkey     Group = "turkey"
	Duck       Group = "duck"
	Fish       Group = "fish"
	Shellfish  Group = "shellfish"
	Cephalopod Group = "cephalopod"
	Egg        Group = "egg"
	Vegetable  Group = "vegetable"
	Fruit      Group = "fruit"
	Custard    Group = "custard"
)

// Safety is the class of lethality rule a food falls under.
type Safety string

// The safety classes.
const (
	IntactRedMeat    Safety = "intact-red-meat"
	NonIntactRedMeat Safety = "non-intact-red-meat"
	Poultry          Safety = "poultry"
	SafetyFish       Safety = "fish" // finfish, crustaceans and molluscs alike
	SafetyEgg        Safety = "egg"
	Plant            Safety = "plant"
)

// Texture is the class of window rule a food falls under.
type Texture string

// The texture classes.
const (
	TextureTender  Texture = "tender"  // tender beef, lamb, venison
	TexturePork    Texture = "pork"    // pork loin cuts and veal
	TextureMinced  Texture = "minced"  // patties and sausages
	TextureGrained Texture = "grained" // flank, skirt, hanger, tri-tip, lamb leg and shoulder
	TextureBreast  Texture = "breast"  // breast of poultry
	TextureDark    Texture = "dark"    // chicken thigh, leg, wing
	TextureFish    Texture = "fish"    // finfish, scallop, shrimp, lobster
	TextureTough   Texture = "tough"   // collagen-rich cuts, octopus, squid
	TexturePlant   Texture = "plant"
	TextureEgg     Texture = "egg"
	TextureCustard Texture = "custard"
)

// Sear is the browning a food gets after the bath.
type Sear string

// The kinds of sear.
const (
	SearNone  Sear = "none"
	SearQuick Sear = "quick" // every face and the edges, as hot and as short as the crust allows
)

// FatUnknown is the FatPercent of a food whose fat is not known well enough to pick a
// rule by it; poultry then takes the strictest column.
const FatUnknown = -1

// Food is one entry of the catalogue. Treat it as read-only: its slices are shared.
type Food struct {
	ID      ID
	Group   Group
	Safety  Safety
	Texture Texture

	// FatPercent is the fat of the edible part in per cent by mass, or FatUnknown.
	FatPercent float64
	// T60 is the time the slow softening of a tough cut takes at 60 °C, zero for other textures.
	T60 time.Duration
	// Softening is the pace of pectin softening relative to carrot, zero for other textures.
	Softening float64

	// ClaimFrom is the lowest setpoint at which this food may be called pasteurised, where measurements on it
	// ask for more than its class does; zero otherwise.
	ClaimFrom quantity.Temperature

	// ServeBeforePasteurised allows the food to be eaten before it is pasteurised, with its
	// caution and never by guests at risk.
	ServeBeforePasteurised bool
	// FarmedOnly restricts that permission to farmed animals, to be said beside it.
	FarmedOnly bool
	// ParasiteFreezing asks for parasite freezing before the food is served lightly cooked.
	ParasiteFreezing bool
	// Histamine marks fish in which histamine forms when it was kept warm; no cooking removes it.
	Histamine bool
	// Tenderisable marks cuts that are sold pinned or tenderised, which ends their being intact.
	Tenderisable bool
	Sear         Sear

	Proportions Proportions
	Portion     Portion
	Limits      Limits
	Material    Material

	// Steps is the doneness table, from the coolest up.
	Steps []Step
	// DefaultDoneness is one of the ids in Steps.
	DefaultDoneness Doneness

	sources [numFields]string
}

// Portion is what one asks for when nothing is said.
type Portion struct {
	Pieces int
	// Mass is the mass of one piece.
	Mass quantity.Mass
	// Thickness is Proportions.Thickness(Mass), kept for convenience.
	Thickness quantity.Length
}

// Limits are the sizes of one piece that can be meant seriously; beyond them a request is
// a slip of the finger (40 kg of shrimp) or a shape this model was not made for.
type Limits struct {
	ThicknessMin, ThicknessMax quantity.Length
	MassMin, MassMax           quantity.Mass
}

// Doneness names a step of doneness, such as "medium-rare".
type Doneness string

// Step is one row of a doneness table: the usual span of water temperatures.
type Step struct {
	ID                Doneness
	Min, Max, Default quantity.Temperature
	// Softened is the share of the fast pectin softening that is wanted at the core,
	// above 0 and below 1; zero for everything but vegetables and fruit.
	Softened float64
	// Source says where the temperatures come from.
	Source string
}

// Step finds a row of the doneness table.
func (f Food) Step(id Doneness) (Step, bool) {
	for _, s := range f.Steps {
		if s.ID == id {
			return s, true
		}
	}
	return Step{}, false
}

// DefaultStep is the row taken when no doneness was said.
func (f Food) DefaultStep() Step {
	s, _ := f.Step(f.DefaultDoneness) // the loader refuses a food without it
	return s
}

// StepAt finds the first row whose span holds the water temperature t, both ends included.
// There is none between two steps and beyond the table.
func (f Food) StepAt(t quantity.Temperature) (Step, bool) {
	i := slices.IndexFunc(f.Steps, func(s Step) bool { return s.Min <= t && t <= s.Max })
	if i < 0 {
		return Step{}, false
	}
	return f.Steps[i], true
}

// Thickness estimates the thickness (or diameter) of one piece from its mass.
func (f Food) Thickness(perPiece quantity.Mass) quantity.Length {
	return f.Proportions.Thickness(perPiece)
}

// Field names a group of numbers of a Food that share a source.
type Field int

// The fields that have a source. Those of a Step stand in the step itself.
const (
	FieldProportions Field = iota
	FieldPortion
	FieldLimits
	FieldMaterial
	FieldComposition
	FieldFat
	FieldT60
	FieldSoftening
	FieldClaimFrom
	numFields
)

// Source says in words where a group of numbers comes from, or "" when f has no such numbers.
func (f Food) Source(field Field) string {
	if field < 0 || field >= numFields {
		return ""
	}
	return f.sources[field]
}

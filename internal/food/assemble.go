package food

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// What the data files may say.
var (
	groups = []Group{Beef, Veal, Lamb, Pork, Game, Chicken, Turkey, Duck, Fish, Shellfish, Cephalopod, Egg, Vegetable, Fruit, Custard}
	safety = []Safety{IntactRedMeat, NonIntactRedMeat, Poultry, SafetyFish, SafetyEgg, Plant}

	textures = []Texture{TextureTender, TexturePork, TextureMinced, TextureGrained, TextureBreast, TextureDark,
		TextureFish, TextureTough, TexturePlant, TextureEgg, TextureCustard}
	reasons = []Reason{ReasonVirus, ReasonOffal, ReasonWildGame, ReasonBotulism, ReasonFerment, ReasonLectin,
		ReasonCured, ReasonCavity, ReasonNoData}
)

// food puts one food together and checks it whole.
func (r *reader) food(id ID, raw rawFood) (Food, error) {
	f := Food{
		ID: id, Group: raw.Group, Safety: raw.Safety, Texture: raw.Texture,
		FatPercent: FatUnknown, Sear: SearNone, DefaultDoneness: raw.Doneness.Default,
	}
	var problems []error
	problem := func(format string, args ...any) { problems = append(problems, fmt.Errorf(format, args...)) }
	source := func(field Field, name string) {
		text, ok := r.sources[name]
		if !ok {
			problem("no source %q", name)
		}
		f.sources[field] = text
	}

	if !slices.Contains(groups, f.Group) || !slices.Contains(safety, f.Safety) || !slices.Contains(textures, f.Texture) {
		problem("unknown group %q, safety %q or texture %q", f.Group, f.Safety, f.Texture)
	}
	if strings.TrimSpace(string(id)) == "" || strings.ToLower(string(id)) != string(id) {
		problem("id %q is not lower case", id)
	}

	s := raw.Shape
	f.Proportions = Proportions{
		Shape: s.Kind, Round: s.Round, Face: SquareCentimetres(s.Face), Width: s.Width, Length: s.Length,
		LengthToDiameter: s.LengthToDiameter, FixedLength: quantity.Millimetres(s.FixedLength),
		Fill: s.Fill, Density: Density(s.Density),
	}
	source(FieldProportions, s.Source)
	if !f.Proportions.valid() {
		problem("shape %+v does not give a thickness", s)
	}

	f.Portion = Portion{Pieces: raw.Portion.Pieces, Mass: quantity.Grams(raw.Portion.Mass)}
	f.Portion.Thickness = f.Proportions.Thickness(f.Portion.Mass)
	source(FieldPortion, raw.Portion.Source)
	f.Limits = Limits{
		ThicknessMin: quantity.Millimetres(raw.Limits.Thickness[0]), ThicknessMax: quantity.Millimetres(raw.Limits.Thickness[1]),
		MassMin: quantity.Grams(raw.Limits.Mass[0]), MassMax: quantity.Grams(raw.Limits.Mass[1]),
	}
	source(FieldLimits, raw.Limits.Source)
	if p, l := f.Portion, f.Limits; p.Pieces < 1 || !(0 < l.MassMin && l.MassMin < p.Mass && p.Mass < l.MassMax) ||
		!(0 < l.ThicknessMin && l.ThicknessMin < p.Thickness && p.Thickness < l.ThicknessMax) {
		problem("portion of %d × %.0f g, %.1f mm, does not lie within its limits", p.Pieces, p.Mass.Grams(), p.Thickness.Millimetres())
	}

	problems = append(problems, r.material(&f, raw), r.doneness(&f, raw))

	if raw.Slow != nil {
		f.T60 = quantity.Minutes(raw.Slow.T60)
		source(FieldT60, raw.Slow.Source)
	}
	if (f.T60 > 0) != (f.Texture == TextureTough) {
		problem("slow softening belongs to tough cuts, and to all of them")
	}
	if raw.Claim != nil {
		f.ClaimFrom = quantity.Temperature(raw.Claim.From)
		source(FieldClaimFrom, raw.Claim.Source)
		if !(f.ClaimFrom > 54 && f.ClaimFrom < 80) {
			problem("a claim from %g °C", float64(f.ClaimFrom))
		}
	}
	if raw.Softening != nil {
		f.Softening = raw.Softening.Factor
		source(FieldSoftening, raw.Softening.Source)
	}
	if (f.Softening > 0) != (f.Texture == TexturePlant) {
		problem("a softening factor belongs to plants, and to all of them")
	}
	for _, trait := range raw.Traits {
		switch trait {
		case "serve-before-pasteurised":
			f.ServeBeforePasteurised = true
		case "farmed-only":
			f.FarmedOnly = true
		case "parasite-freezing":
			f.ParasiteFreezing = true
		case "histamine":
			f.Histamine = true
		case "tenderisable":
			f.Tenderisable = true
		case "sear":
			f.Sear = SearQuick
		case "fat-unknown":
			f.FatPercent, f.sources[FieldFat] = FatUnknown, ""
		default:
			problem("unknown trait %q", trait)
		}
	}
	return f, errors.Join(problems...)
}

// material fills in what the food is made of. A similar food's composition is good enough
// for freezing, not for choosing a lethality rule, so its fat is not taken over.
func (r *reader) material(f *Food, raw rawFood) error {
	m, ok := r.materials[raw.Material]
	if !ok || !(m.Diffusivity > 0) || !(m.Conductivity > 0) || m.Film < 0 || r.sources[m.Source] == "" {
		return fmt.Errorf("material %q is missing, out of range or without a source", raw.Material)
	}
	f.Material.Diffusivity, f.Material.Conductivity = heat.Diffusivity(m.Diffusivity), heat.Conductivity(m.Conductivity)
	f.Material.Film = heat.Film(m.Film)
	f.sources[FieldMaterial] = r.sources[m.Source]
	name := raw.Composition.Row
	if name == "" {
		return nil
	}
	row, ok := r.rows[name]
	if !ok {
		return fmt.Errorf("no composition %q", name)
	}
	f.Material.Composition, f.Material.Row, f.Material.Nearest = &row.Composition, name, raw.Composition.Nearest
	f.sources[FieldComposition] = row.source
	if raw.Composition.Nearest {
		f.sources[FieldComposition] = "nearest food, " + name + ": " + row.source
		return nil
	}
	f.FatPercent = row.Fat * 100
	f.sources[FieldFat] = row.source
	return nil
}

func (r *reader) doneness(f *Food, raw rawFood) error {
	rows, ok := r.steps[raw.Doneness.Table]
	if !ok {
		return fmt.Errorf("no doneness table %q", raw.Doneness.Table)
	}
	plant := f.Texture == TexturePlant
	for _, row := range rows {
		step := Step{
			ID: row.ID, Min: quantity.Temperature(row.Min), Max: quantity.Temperature(row.Max), Default: quantity.Temperature(row.Default),
			Softened: row.Softened, Source: r.sources[row.Source],
		}
		switch {
		case step.Source == "":
			return fmt.Errorf("doneness %s has no source", row.ID)
		case !(40 <= step.Min && step.Min <= step.Default && step.Default <= step.Max && step.Min < step.Max && step.Max < 100):
			return fmt.Errorf("doneness %s is out of order", row.ID)
		case plant != (0 < step.Softened && step.Softened < 1):
			return fmt.Errorf("doneness %s: a softened share belongs to plants, and to all of them", row.ID)
		}
		if _, twice := f.Step(step.ID); twice {
			return fmt.Errorf("doneness %s stands there twice", row.ID)
		}
		f.Steps = append(f.Steps, step)
	}
	if _, ok := f.Step(f.DefaultDoneness); !ok {
		return fmt.Errorf("default doneness %q is not in table %q", f.DefaultDoneness, raw.Doneness.Table)
	}
	return nil
}

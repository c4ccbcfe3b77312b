package lethality

import (
	"time"

	"bagwatch/internal/quantity"
)

// Region is a country whose consumer advice is known here.
type Region string

// The regions. The EU sets no consumer temperature of its own.
const (
	UnitedStates  Region = "us"
	UnitedKingdom Region = "uk"
	Ireland       Region = "ireland"
	Germany       Region = "germany"
)

// Minimum is what an authority tells consumers to reach at the coldest spot. It is printed
// beside a plan, and where stricter it wins.
type Minimum struct {
	Region     Region
	At         quantity.Temperature
	Hold       time.Duration // at that temperature; zero means on reaching it
	Rest       time.Duration // after cooking
	RareWhole  bool          // whole cuts of beef and lamb may be rare if sealed all over
	Source     string
	FromMemory bool // the attribution, not the figure
}

// ConsumerMinimum gives the advice for a class of food in a region; false where none was
// found, which must not be read as "anything goes".
func ConsumerMinimum(region Region, class Class) (Minimum, bool) {
	m := Minimum{Region: region}
	switch region {
	case UnitedStates:
		m.Source = "USDA FSIS / FoodSafety.gov 2019 chart"
		switch class {
		case IntactRedMeat:
			m.At, m.Rest = 62.8, 3*time.Minute
		case NonIntactRedMeat:
			m.At = 71.1
		case Poultry, GameBird:
			m.At = 73.9
		case WildGame:
			m.At, m.Hold, m.Source = 74, 15*time.Second, "FDA Food Code 3-401.11 (2009 text; a retail rule)"
		case Fish:
			m.At, m.Source = 62.8, "FoodSafety.gov 2019 chart"
		case Egg:
			m.At = 71.1 // egg dishes; shell eggs until yolk and white are firm
		default:
			return Minimum{}, false
		}
	case UnitedKingdom:
		if !class.Known() || class == Plant {
			return Minimum{}, false
		}
		m.At, m.Hold, m.Source = 70, 2*time.Minute, "UK FSA cooking advice; ACMSF 2007"
		m.RareWhole = class == IntactRedMeat
	case Ireland:
		if class != NonIntactRedMeat {
			return Minimum{}, false
		}
		m.At, m.Source = 75, "FSAI 2018 (or 70 °C for 2 min)"
	case Germany:
		switch class {
		case IntactRedMeat, NonIntactRedMeat, Poultry, GameBird, WildGame, Offal, Fish:
			m.At, m.Hold, m.Source, m.FromMemory = 70, 2*time.Minute, "consumer-protection advice, BfR", true
		default:
			return Minimum{}, false
		}
	default:
		return Minimum{}, false
	}
	return m, true
}

// LeftoversReheat is the US consumer figure for leftovers. Source: USDA FSIS /
// FoodSafety.gov 2019 chart. Toxins of S. aureus and B. cereus survive it.
const LeftoversReheat quantity.Temperature = 73.9

// Hot-holding floors, for food served to the public.
const (
	HotHoldUK quantity.Temperature = 63 // UK Food Hygiene Regulations 2005/2006 Sch. 4
	HotHoldUS quantity.Temperature = 57 // FDA Food Code; 54 for roasts
)

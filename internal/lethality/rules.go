package lethality

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Class is a class of food with one lethality target.
type Class string

// The classes. Non-intact is minced, pinned, tenderised, injected, rolled or stuffed.
// Game birds, wild game and offal have no table of their own and take the strictest
// poultry pair; the FDA Food Code puts wild game with poultry too.
const (
	IntactRedMeat    Class = "intact-red-meat" // beef, lamb, veal, pork, farmed venison
	NonIntactRedMeat Class = "non-intact-red-meat"
	Poultry          Class = "poultry" // and any mixture that contains it
	GameBird         Class = "game-bird"
	WildGame         Class = "wild-game"
	Offal            Class = "offal"
	Fish             Class = "fish" // and shellfish other than bivalves
	Egg              Class = "egg"  // in the shell
	Plant            Class = "plant"
)

// Known reports whether the class is one of the constants above.
func (c Class) Known() bool {
	switch c {
	case IntactRedMeat, NonIntactRedMeat, Poultry, GameBird, WildGame, Offal, Fish, Egg, Plant:
		return true
	}
	return false
}

// The lowest nominal setpoints at which a kill may be claimed: the first row of the FSIS
// red meat (130 °F) and poultry (136 °F) tables, and 134 °F, the CFR process for egg white.
const (
	claimRedMeat quantity.Temperature = 54.4
	claimPoultry quantity.Temperature = 57.8
	claimEgg     quantity.Temperature = 56.7
)

// bathError is taken off the setpoint in the careful history before anything is computed;
// the floors are lower by as much, or a bath right above its floor could never claim
// anything. House rule, after FSIS-GD-2021-14 p. 20 (add the instrument error).
const bathError quantity.Difference = 0.5

// RuleID names a rule in stored plans and texts.
type RuleID string

// The rules.
const (
	RedMeatSalmonella RuleID = "red-meat-salmonella"
	PoultrySalmonella RuleID = "poultry-salmonella"
	NonIntactSTEC     RuleID = "non-intact-stec"
	EggSalmonella     RuleID = "egg-salmonella"
	ListeriaSixLog    RuleID = "listeria-6-log"
)

// Rule is a kill target for a food.
type Rule struct {
	ID         RuleID
	Pair       Pair
	Target     float64              // log10 reductions
	Floor      quantity.Temperature // kill counts from here up on the careful history
	ClaimFloor quantity.Temperature // no claim below this nominal setpoint
	Source     string
}

// ClaimFloor is the lowest nominal setpoint at which a kill may be claimed for the class.
func ClaimFloor(class Class) quantity.Temperature {
	switch class {
	case IntactRedMeat, NonIntactRedMeat, Fish, Plant:
		return claimRedMeat
	case Egg:
		return claimEgg
	default: // birds, what stands with them, and what is not known
		return claimPoultry
	}
}

// Rules gives the rules that must all be reached before food of the class may be called
// pasteurised: the target of its class, and always six decimal reductions of Listeria, so
// that the one word also holds for at-risk guests and for chilled keeping. fatPercent
// matters for [Poultry] only; negative or NaN means unknown and takes the 12 % pair.
//
// An unknown class gets the poultry pair for unknown fat and the non-intact rule as well,
// which together are at least as long as every other rule.
func Rules(class Class, fatPercent float64) []Rule {
	return AppendRules(make([]Rule, 0, 3), class, fatPercent)
}

// AppendRules is [Rules] into a slice of the caller's.
func AppendRules(dst []Rule, class Class, fatPercent float64) []Rule {
	claim := ClaimFloor(class)
	rule := func(id RuleID, pair Pair, target float64, source string) Rule {
		return Rule{ID: id, Pair: pair, Target: target, ClaimFloor: claim,
			Floor: claim - quantity.Temperature(bathError), Source: source}
	}
	const fsis = "USDA FSIS 2021 Cooking Guideline, Revised Appendix A, FSIS-GD-2021-14"
	switch class {
	case IntactRedMeat:
		dst = append(dst, rule(RedMeatSalmonella, redMeat(), 6.5, fsis+" p. 18; 9 CFR 318.17"))
	case NonIntactRedMeat:
		dst = append(dst, rule(NonIntactSTEC, nonIntact(), 6, "ACMSF 2007, Report on the safe cooking of burgers"))
	case Poultry:
		dst = append(dst, rule(PoultrySalmonella, poultryUpTo(fatPercent), 7, fsis+" p. 18-19, 36, 39; 9 CFR 381.150"))
	case Egg:
		// Five are called for (Perry & Yousef 2013); seven are asked for here.
		dst = append(dst, rule(EggSalmonella, shellEgg(), 7, "Perry & Yousef 2013 J Food Prot 76(2) (5 log, names from memory); 7 log by house rule"))
	case Fish, Plant: // Listeria alone
	case GameBird, WildGame, Offal:
		dst = append(dst, rule(PoultrySalmonella, poultryUpTo(math.NaN()), 7, fsis+" p. 36, 39; wild game with poultry in FDA Food Code 3-401.11"))
	default:
		dst = append(dst,
			rule(PoultrySalmonella, poultryUpTo(math.NaN()), 7, fsis+" p. 39"),
			rule(NonIntactSTEC, nonIntact(), 6, "ACMSF 2007, Report on the safe cooking of burgers"))
	}
	return append(dst, rule(ListeriaSixLog, listeria(), 6, "FDA Fish and Fishery Products Hazards and Controls Guidance, Appendix 4; FSAI 2018"))
}

// HoldTime is the time to the target at one constant temperature, rounded up to the
// nanosecond. Below the floor nothing counts and it is the longest time.Duration.
func (r Rule) HoldTime(t quantity.Temperature) time.Duration {
	if !(t >= r.Floor) {
		return math.MaxInt64
	}
	return seconds(r.Target / r.Pair.rate(float64(t)))
}

// MayClaim reports whether a bath set to the nominal setpoint may claim this kill at all.
func (r Rule) MayClaim(setpoint quantity.Temperature) bool { return setpoint >= r.ClaimFloor }

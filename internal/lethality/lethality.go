// Package lethality turns a temperature history into log10 reductions of pathogens, and
// holds the published limits that decide what may be said about food kept warm.
//
// Temperatures are °C, spans are time.Duration counted from immersion, kills are log10
// reductions. The method is the log-linear law of Bigelow (1921): D(T) = D_ref ·
// 10^((T_ref−T)/z), and the reduction is the integral of dt/D(T(t)) at the slowest-heating
// point. USDA FSIS (2021) Cooking Guideline, FSIS-GD-2021-14 p. 68, endorses that integral
// for food that stays moist; a sealed bag does.
//
// Every pair is set so that an isothermal hold is never shorter than the published table
// it stands for; the quadrature keeps back one part in a thousand, so that its own error
// is late and never early; and no kill is counted below a [Rule]'s floor, because the
// published tables stop there.
//
// What no figure here can see: strain, contamination before cooking, salt, sugar, acid,
// fat above 12 %, spores, toxins already formed, histamine, viruses, air pockets.
//
// Start with [Rules], then [Pasteurised]. Growth: [TimeBetween], [HoldLimit], [SagVerdict].
package lethality

import (
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// Pathogen names an organism that a pair speaks for.
type Pathogen string

// The organisms with a pair here.
const (
	Salmonella          Pathogen = "salmonella"
	Listeria            Pathogen = "listeria"       // L. monocytogenes
	STEC                Pathogen = "stec"           // shiga-toxin E. coli, O157 and kin
	Perfringens         Pathogen = "c-perfringens"  // vegetative cells, not spores
	NonProteolyticSpore Pathogen = "c-botulinum-np" // spores of non-proteolytic C. botulinum
)

// Pair is a Bigelow pair: the decimal reduction time at a reference temperature and the
// temperature rise that shortens it tenfold.
type Pair struct {
	Pathogen Pathogen
	DRef     time.Duration
	TRef     quantity.Temperature
	Z        quantity.Difference // at and above TRef, > 0
	ZBelow   quantity.Difference // below TRef; zero means Z
	Source   string
}

// D is the decimal reduction time at t, rounded up to the nanosecond; it saturates at the
// end of time.Duration (292 years) in the cold. t must be finite.
func (p Pair) D(t quantity.Temperature) time.Duration {
	return seconds(1 / p.rate(float64(t)))
}

// rate is 1/D at t in log10 per second.
func (p *Pair) rate(t float64) float64 {
	z := p.Z
	if t < float64(p.TRef) && p.ZBelow > 0 {
		z = p.ZBelow
	}
	return math.Exp((t-float64(p.TRef))*math.Ln10/float64(z)) / p.DRef.Seconds()
}

// seconds converts s ≥ 0 to a span, up to the next nanosecond, saturating. NaN saturates
// too: a time that cannot be told is never a short one.
func seconds(s float64) time.Duration {
	if ns := math.Ceil(s * 1e9); ns < math.MaxInt64 {
		return time.Duration(ns)
	}
	return math.MaxInt64
}

// The pairs. Reference points are the decimal figures of the sources named.

// redMeat is the law behind the FSIS 6.5-log column (112 min at 130 °F, z = 10 °F) raised
// until no printed cell is longer: table 1.00 to 1.14 times shorter, 130–157 °F. The
// governing cell is 142 °F, 8 min; 1.950 min would be 0.14 s short of it.
func redMeat() Pair {
	return Pair{Pathogen: Salmonella, DRef: quantity.Minutes(1.951), TRef: 60, Z: 5.556,
		Source: "USDA FSIS 2021 Appendix A Table 2 (6.5 log), never shorter"}
}

// poultryUpTo is the envelope of the FSIS chicken and turkey tables for one band of fat.
// Model ÷ longer of the two tables, in the column that names the band: 1.00 to 1.13 (1 and
// 5 %), 1.17 (8 %), 1.21 (10 %), 1.34 (12 %). In-between columns take the fatter pair.
func poultryUpTo(fatPercent float64) Pair {
	d, z := 6.42, quantity.Difference(5.82) // 12 % column, and more, and unknown (p. 39)
	switch {
	case fatPercent < 0 || math.IsNaN(fatPercent):
	case fatPercent <= 1:
		d, z = 4.46, 6.09
	case fatPercent <= 5:
		d, z = 4.58, 6.06
	case fatPercent <= 8:
		d, z = 5.00, 5.98
	case fatPercent <= 10:
		d, z = 5.52, 5.90
	}
	return Pair{Pathogen: Salmonella, DRef: quantity.Minutes(d), TRef: 60, Z: z,
		Source: "USDA FSIS 2021 Appendix A Tables 3 and 4 (7 log), envelope of chicken and turkey"}
}

// nonIntact is the ACMSF burger law, 70 °C for 2 min = 6 log, z = 6 °C.
func nonIntact() Pair {
	return Pair{Pathogen: STEC, DRef: 20 * time.Second, TRef: 70, Z: 6,
		Source: "ACMSF 2007, Report on the safe cooking of burgers: 70 °C 2 min, z 6 °C"}
}

// listeria is 70 °C for 2 min = 6 log, z = 7.5 °C: the law of FDA Table A-3. FSA prints
// general equivalents of the same law rounded up (45 min for 43.1 at 60 °C).
func listeria() Pair {
	return Pair{Pathogen: Listeria, DRef: 20 * time.Second, TRef: 70, Z: 7.5,
		Source: "Mackey & Bratchell 1989; FSAI 2018; FDA Fish Guide App. 4: 70 °C 2 min = 6 log, z 7.5 °C"}
}

// shellEgg is Salmonella at the centre of an intact egg.
func shellEgg() Pair {
	return Pair{Pathogen: Salmonella, DRef: quantity.Minutes(6.12), TRef: 57.2, Z: 4.33, ZBelow: 3.54,
		Source: "Brackett et al. 2001 (D, upper value, names from memory); Schuman & Sheldon 1997 J Food Prot 60:634 (z)"}
}

// PerfringensCells is the pair for Clostridium perfringens cells after growth: 1.00 to
// 1.42 times four measured D values, 55–62.5 °C. Spores survive everything here.
func PerfringensCells() Pair {
	return Pair{Pathogen: Perfringens, DRef: quantity.Minutes(5.3), TRef: 60, Z: 6.8,
		Source: "Juneja & Marmer 1998 Food Microbiol 15:281"}
}

// BotulinumSpores is the pair for non-proteolytic C. botulinum spores; six decimal
// reductions are 90 °C for 10 min. It follows the printed equivalents of the UK FSA within
// 0.97 to 1.01: for information, no claim rests on it.
func BotulinumSpores() Pair {
	return Pair{Pathogen: NonProteolyticSpore, DRef: 100 * time.Second, TRef: 90, Z: 10, ZBelow: 9,
		Source: "UK FSA vacuum-packing guidance Dec 2020, equivalents table; z fitted to it"}
}

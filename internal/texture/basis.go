package texture

// Basis says what the marks of a window rest on.
type Basis string

// The bases.
const (
	TenderBasis  Basis = "tender"
	GrainedBasis Basis = "grained"
	BreastBasis  Basis = "breast"
	DarkBasis    Basis = "dark"
	FishBasis    Basis = "fish"
	ToughBasis   Basis = "tough"
	PlantBasis   Basis = "plant"
	YolkBasis    Basis = "yolk"
	SetEggBasis  Basis = "set-egg"
	CustardBasis Basis = "custard"
)

// Evidence is where the figures of a basis come from.
type Evidence struct {
	Published string // what is measured, with its source; empty if nothing is
	Practice  string // what is common practice, no source, or a fit of our own
}

// Evidence gives the sources behind the basis.
func (b Basis) Evidence() Evidence {
	switch b {
	case TenderBasis:
		return Evidence{
			"cook loss and shear rise with time at 57–63 °C (Liu 2024; Food Sci. Anim. Resour. 39(1):65)",
			"lengths of the window at 55 °C and 20 K per decade: common practice, no source"}
	case GrainedBasis:
		return Evidence{
			"collagen shrink, half in 11 min at 58 °C (Machlik & Draudt 1963); Ea 604.6 kJ/mol (Bertola 1994 in Lee 2017)",
			"three half-lives, the cap of 4 h and the lengths of the window: common practice, no source"}
	case BreastBasis:
		return Evidence{
			"chicken breast best at 60 °C after 1 to 3 h (Lee; Haghighi 2021)",
			"lengths at 60 °C and 20 K per decade: common practice, no source"}
	case DarkBasis:
		return Evidence{"", "45 min at 70 °C and 30 K per decade: common practice, no source"}
	case FishBasis:
		return Evidence{
			"loss of actin in cod, D62 130.1 min, z 5.74 °C; a tenth lost ends the best (Skipnes 2008)",
			"caps of 30, 45 and 60 min and the least of 15 min: common practice, no source"}
	case ToughBasis:
		return Evidence{
			"collagen shrink as for grained cuts; anchors 24–48 h at 60 °C (Bouton & Harris 1981), 12 h at 80 °C (del Pulgar 2012)",
			"slow-step minutes by cut, 42 K per decade, 1.6 and 2.2 times ready: fits and common practice, no source; span ×0.6 to ×1.3"}
	case PlantBasis:
		return Evidence{
			"carrot softening, k100 0.222/min, Ea 117.56 kJ/mol (Vu 2004 in Lee 2017)",
			"factors of other vegetables and 0.75, 0.90, 0.97, 0.99 as marks: fits and common practice, no source"}
	case YolkBasis:
		return Evidence{
			"yolk thickening, Ea 470 kJ/mol (Vega & Mercadé-Prieto 2011); anchors read from a reproduction of figure 8",
			"anchors taken as times in the shell, less 33 min; ready at 20 min: common practice, no source; ±15 min"}
	case SetEggBasis:
		return Evidence{
			"egg white first order, A 4.85e60 1/s, Ea 418.5 kJ/mol (Di Lorenzo et al. 2025, from an open re-implementation)",
			"set above 0.9, then 30 and 60 min: common practice, no source"}
	case CustardBasis:
		return Evidence{"", "ready when the core is reached, then 30 and 60 min: common practice, no source"}
	}
	return Evidence{}
}

package lethality

import "bagwatch/internal/quantity"

// GrowthLimit is the span of temperatures in which an organism grows.
type GrowthLimit struct {
	Organism string
	Min, Max quantity.Temperature
	Source   string
}

// GrowthLimits gives the published growth limits that the floors and cautions rest on.
// The highest is Bacillus cereus at 55 °C; C. perfringens, the fastest, stops at 52.3 °C at
// the most (Shoemaker & Pierson, strict anaerobiosis), which with about 2 °C of control
// error leads to the same 54.4 °C as the first row of the FSIS table.
func GrowthLimits() []GrowthLimit {
	const ars = "ARS growth guide via Ohio State extension"
	return []GrowthLimit{
		{"Salmonella", 5.2, 46.2, ars},
		{"Listeria monocytogenes", -0.4, 45, ars},
		{"Escherichia coli", 7, 46, ars},
		{"Campylobacter jejuni", 32, 45, ars},
		{"Yersinia enterocolitica", -1.3, 42, ars},
		{"Staphylococcus aureus (growth)", 7, 48, "ARS guide; USDA FSIS 2021 p. 14"},
		{"Clostridium perfringens", 12, 50, "HACCP text and ARS guide (ARS gives 4 °C minimum)"},
		{"Clostridium botulinum non-proteolytic", 3.3, 45, "Tompkin table; Hauschild 1989"},
		{"Clostridium botulinum proteolytic", 10, 48, "Tompkin table (minimum); maximum from memory"},
		{"Bacillus cereus", 4, 55, "HACCP text"},
	}
}

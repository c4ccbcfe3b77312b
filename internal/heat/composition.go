package heat

import "bagwatch/internal/quantity"

// Composition is what a food is made of, as mass fractions.
type Composition struct {
	Water, Protein, Fat, Carbohydrate, Fibre, Ash float64
	FreezingPoint                                 quantity.Temperature
}

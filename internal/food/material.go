package food

import "bagwatch/internal/heat"

// Material says how heat moves in a food, for the likely estimate. The careful estimate
// has values of its own that are the same for all foods.
type Material struct {
	// Material is ready for the solver. Its Composition is shared, read-only, and nil where
	// none is known: a frozen start then has no model.
	heat.Material
	// Film replaces the usual bag film where there is no bag (eggs); zero means the usual one.
	Film heat.Film
	// Row names the row of the composition table, "" without composition.
	Row string
	// Nearest is true when the row belongs to a similar food, not to this one.
	Nearest bool
}

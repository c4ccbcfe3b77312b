package heat

import (
	"testing"
	"time"
)

// Eigenmode lets tests compare single eigenvalues and coefficients with published tables.
func Eigenmode(n int, bi float64, i int) (zeta, c, mean, surface float64) {
	m := eigenmode(n, bi, i)
	return m.zeta, m.c, m.mean, m.surface
}

// Polynomial gives the coefficients of a component's property, in SI units.
func Polynomial(name, property string) ([3]float64, bool) {
	c, ok := map[string]component{
		"protein": protein, "fat": fat, "carb": carbohydrate, "fiber": fibre, "ash": ash, "water": water, "ice": ice,
		"water_subzero": {heat: waterSubzero},
	}[name]
	q, known := map[string]quadratic{
		"density": c.density, "specific_heat": c.heat, "conductivity": c.conductivity,
	}[property]
	return [3]float64{q.a, q.b, q.c}, ok && known
}

// HeatBalance gives the heat that went through the surface and the heat stored in the cells, in
// the same unit, after following a piece on the default grid.
func HeatBalance(t testing.TB, p Piece, h History, until time.Duration) (through, stored float64) {
	t.Helper()
	f, err := newField(Grid{Cells: defaultCells}, p, h)
	if err != nil {
		t.Fatal(err)
	}
	stock := func(v *volumes) (sum float64) {
		for i, volume := range v.volume {
			sum += volume * v.t[i]
		}
		return sum
	}
	switch f := f.(type) {
	case *volumes:
		before := stock(f)
		march(f, Grid{}, p, h, until)
		return f.absorbed, stock(f) - before
	case *thawing:
		before := 0.0
		for i, volume := range f.volume {
			before += volume * f.h[i]
		}
		march(f, Grid{}, p, h, until)
		if !f.thawed {
			t.Fatal("still frozen: the balance must span the hand-over")
		}
		capacity, total := f.states.capacity, 1/(f.beta+1)
		return f.absorbed + capacity*f.after.absorbed,
			capacity*(stock(f.after)-f.states.freezing*total) - before
	}
	t.Fatal("no balance for this field")
	return 0, 0
}

// SolveInModes follows an unfrozen piece of any shape by eigenfunctions.
func SolveInModes(p Piece, h History, until time.Duration) *Solution {
	return march(newTensor(p), Grid{}, p, h, until)
}

// SolveEquivalent follows an unfrozen finite piece as the radial body that stands for it when frozen.
func SolveEquivalent(p Piece, h History, until time.Duration) *Solution {
	return march(newBetaVolumes(defaultCells, p.Material, equivalent(p, h[0].Film), float64(p.Start)), Grid{}, p, h, until)
}

package heat

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

package heat

// Eigenmode lets tests compare single eigenvalues and coefficients with published tables.
func Eigenmode(n int, bi float64, i int) (zeta, c, mean, surface float64) {
	m := eigenmode(n, bi, i)
	return m.zeta, m.c, m.mean, m.surface
}

package heat_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// foods reads food_composition.csv; carbohydrate there includes the fibre.
func foods(t testing.TB) map[string]heat.Composition {
	all := map[string]heat.Composition{}
	for _, r := range table(t, "food_composition") {
		part := func(column string) float64 { return r.number(t, column) / 100 }
		c := heat.Composition{
			Water: part("water_pct"), Protein: part("protein_pct"), Fat: part("fat_pct"),
			Carbohydrate: part("carbohydrate_pct") - part("fiber_pct"), Fibre: part("fiber_pct"), Ash: part("ash_pct"),
		}
		if r.has("T_freeze_C") {
			c.FreezingPoint = quantity.Temperature(r.number(t, "T_freeze_C"))
		}
		all[r["food"]] = c
	}
	return all
}

func TestComponentPolynomialsAreThoseOfTheTable(t *testing.T) {
	for _, r := range table(t, "choi_okos") {
		if r["property"] == "diffusivity" {
			continue // follows from the other three
		}
		got, ok := heat.Polynomial(r["component"], r["property"])
		require.True(t, ok, r)
		scale := 1.0
		if r["property"] == "specific_heat" {
			scale = 1000 // kJ to J
		}
		for i, column := range []string{"a", "b", "c"} {
			want := scale * r.number(t, column)
			assert.InDelta(t, want, got[i], 1e-12*abs(want), "%s %s %s: the same decimal numbers", r["component"], r["property"], column)
		}
	}
}

// Choi & Okos also fitted the diffusivity of each component; k/(ρc) must agree with it within the
// 5 % the copies were checked to. It guards against misprinted coefficients.
func TestComponentDiffusivityIsConsistent(t *testing.T) {
	at := func(component, property string, temperature float64) float64 {
		p, ok := heat.Polynomial(component, property)
		require.True(t, ok)
		return p[0] + temperature*(p[1]+temperature*p[2])
	}
	for _, r := range table(t, "choi_okos") {
		if r["property"] != "diffusivity" || r["component"] == "ice" {
			continue
		}
		for _, temperature := range []float64{0, 20, 40, 60, 80} {
			want := 1e-6 * (r.number(t, "a") + temperature*(r.number(t, "b")+temperature*r.number(t, "c")))
			c := r["component"]
			got := at(c, "conductivity", temperature) / at(c, "density", temperature) / at(c, "specific_heat", temperature)
			assert.InEpsilon(t, want, got, 0.05, "%s at %g °C", c, temperature)
		}
	}
}

// The table's derived columns were computed by an independent script from the same polynomials,
// and are rounded to the last digit shown: half of it is up to 0.06 % of ρ, 0.15 % of k, 0.05 % of α.
func TestDerivedPropertiesAgreeWithTheTable(t *testing.T) {
	all := foods(t)
	for _, r := range table(t, "food_composition") {
		c := all[r["food"]]
		m := c.Material(20)
		assert.InEpsilon(t, r.number(t, "rho20_kg_m3"), float64(c.Density(20)), 0.0006, r["food"])
		assert.InEpsilon(t, r.number(t, "cp20_J_kgK"), float64(c.SpecificHeat(20)), 0.0015, r["food"])
		assert.InEpsilon(t, r.number(t, "k_par20_W_mK"), float64(m.Conductivity), 0.0015, r["food"])
		assert.InEpsilon(t, r.number(t, "alpha20_1e-7_m2_s"), float64(m.Diffusivity)*1e7, 0.001, r["food"])
		assert.InEpsilon(t, r.number(t, "alpha60_1e-7_m2_s"), float64(c.Material(60).Diffusivity)*1e7, 0.001, r["food"])
	}
}

// Computed independently from the same sources; 2 % covers how the sensible heat is split.
func TestEnthalpyOfFreezingAgreesWithWorkedNumbers(t *testing.T) {
	all := foods(t)
	for name, tt := range map[string]struct{ toFridge, toZero, toBath, ice float64 }{
		"beef strip loin lean":   {249, 232, 195, 0.554},
		"chicken breast":         {251, 233, 199, 0.547},
		"cod Atlantic":           {283, 265, 206, 0.645},
		"salmon Atlantic farmed": {231, 214, 188, 0.499},
	} {
		t.Run(name, func(t *testing.T) {
			c, ok := all[name]
			require.True(t, ok)
			kJ := func(from, to quantity.Temperature) float64 { return float64(c.Enthalpy(from, to)) / 1000 }
			assert.InEpsilon(t, tt.toFridge, kJ(-18, 5), 0.02)
			assert.InEpsilon(t, tt.toZero, kJ(-18, 0), 0.02)
			assert.InEpsilon(t, tt.toBath, kJ(5, 60), 0.02)
			assert.InDelta(t, tt.ice, c.IceFraction(-18), 0.001, "printed to three decimals")
			assert.InDelta(t, kJ(-30, 60), kJ(-30, -5)+kJ(-5, 60), 1e-9, "a state function")
		})
	}
}

func abs(x float64) float64 { return max(x, -x) }

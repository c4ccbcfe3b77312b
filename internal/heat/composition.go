package heat

import (
	"fmt"
	"math"

	"bagwatch/internal/quantity"
)

// Density is a density in kg/m³.
type Density float64

// SpecificHeat is a heat capacity in J/(kg K).
type SpecificHeat float64

// SpecificEnergy is an energy per mass in J/kg.
type SpecificEnergy float64

// Composition is what a food is made of, as mass fractions. Carbohydrate is without the fibre,
// which tables "by difference" include. The fractions are scaled to sum to 1; see [Composition.Check].
type Composition struct {
	Water, Protein, Fat, Carbohydrate, Fibre, Ash float64
	// FreezingPoint is where ice begins to form, −10 … −0.1 °C; needed for anything frozen.
	FreezingPoint quantity.Temperature
}

// quadratic is a + b T + c T², T in °C.
type quadratic struct{ a, b, c float64 }

func (q quadratic) at(t float64) float64 { return q.a + t*(q.b+t*q.c) }

// integral is the antiderivative, zero at 0 °C.
func (q quadratic) integral(t float64) float64 { return t * (q.a + t*(q.b/2+t*q.c/3)) }

func (q quadratic) plus(x float64, o quadratic) quadratic {
	return quadratic{q.a + x*o.a, q.b + x*o.b, q.c + x*o.c}
}

// component holds the properties of one pure component: kg/m³, J/(kg K), W/(m K).
type component struct{ density, heat, conductivity quadratic }

// Component properties. Domain −40 … 150 °C, ice up to 0 °C. Source: Choi & Okos, Effects of
// temperature and composition on the thermal properties of foods, in Food Engineering and Process
// Applications 1 (1986) 93–101, from secondary copies checked by α = k/(ρc), which holds within 5 %.
var (
	protein      = component{quadratic{1329.9, -0.5184, 0}, quadratic{2008.2, 1.2089, -1.3129e-3}, quadratic{0.17881, 1.1958e-3, -2.7178e-6}}
	fat          = component{quadratic{925.59, -0.41757, 0}, quadratic{1984.2, 1.4733, -4.8008e-3}, quadratic{0.18071, -2.7604e-4, -1.7749e-7}}
	carbohydrate = component{quadratic{1599.1, -0.31046, 0}, quadratic{1548.8, 1.9625, -5.9399e-3}, quadratic{0.20141, 1.3874e-3, -4.3312e-6}}
	fibre        = component{quadratic{1311.5, -0.36589, 0}, quadratic{1845.9, 1.8306, -4.6509e-3}, quadratic{0.18331, 1.2497e-3, -3.1683e-6}}
	ash          = component{quadratic{2423.8, -0.28063, 0}, quadratic{1092.6, 1.8896, -3.6817e-3}, quadratic{0.32962, 1.4011e-3, -2.9069e-6}}
	water        = component{quadratic{997.18, 3.1439e-3, -3.7574e-3}, quadratic{4176.2, -9.0864e-2, 5.4731e-3}, quadratic{0.57109, 1.7625e-3, -6.7036e-6}}
	ice          = component{quadratic{916.89, -0.13071, 0}, quadratic{2062.3, 6.0769, 0}, quadratic{2.2196, -6.2489e-3, 1.0154e-4}}
	// waterSubzero is the heat of water that stays liquid below 0 °C.
	waterSubzero = quadratic{4081.7, -5.3062, 0.99516}
)

const (
	// fusion is the latent heat of ice at 0 °C, J/kg. Source: ASHRAE Handbook—Refrigeration, Thermal Properties of Foods (333.6 kJ/kg).
	fusion = 333.6e3
	// bound is the water held back from freezing, kg per kg of protein. Source: ASHRAE Handbook—Refrigeration, same chapter (x_b = 0.4 x_p).
	bound = 0.4
	// A table of fractions may miss 1 by what analysis and rounding lose; USDA rows stay within 2 %.
	sumMin, sumMax             = 0.9, 1.1
	freezePointMin, freezePMax = -10.0, -0.1 // °C; foods −0.5 … −3 (ASHRAE), brined ones lower
)

// Check reports what makes the composition unusable, wrapped in [ErrComposition].
func (c Composition) Check() error {
	sum := 0.0
	for _, x := range c.fractions() {
		if !inside(x, 0, 1) {
			return fmt.Errorf("%w: fraction %g", ErrComposition, x)
		}
		sum += x
	}
	if !inside(sum, sumMin, sumMax) {
		return fmt.Errorf("%w: fractions sum to %g", ErrComposition, sum)
	}
	return nil
}

// checkFreezing adds what a frozen food needs.
func (c Composition) checkFreezing() error {
	if err := c.Check(); err != nil {
		return err
	}
	if !inside(float64(c.FreezingPoint), freezePointMin, freezePMax) {
		return fmt.Errorf("%w: freezing point %g °C", ErrComposition, float64(c.FreezingPoint))
	}
	if c.Water < bound*c.Protein {
		return fmt.Errorf("%w: no water to freeze", ErrComposition)
	}
	return nil
}

func (c Composition) fractions() [6]float64 {
	return [6]float64{c.Water, c.Protein, c.Fat, c.Carbohydrate, c.Fibre, c.Ash}
}

// mixture is a composition scaled to 1 and split into what freezes and what does not.
type mixture struct {
	water, freezable float64 // mass fractions
	dry              [5]float64
	dryHeat          quadratic // of all but water, per kg of food
	freezing         float64   // °C
}

var dryComponents = [5]*component{&protein, &fat, &carbohydrate, &fibre, &ash}

// mix panics on a composition that was not checked: it comes from our own tables.
func (c Composition) mix() mixture {
	if c.Check() != nil {
		panic("heat: composition out of range")
	}
	f := c.fractions()
	sum := f[0] + f[1] + f[2] + f[3] + f[4] + f[5]
	m := mixture{water: f[0] / sum, freezing: float64(c.FreezingPoint)}
	for i := range m.dry {
		m.dry[i] = f[i+1] / sum
		m.dryHeat = m.dryHeat.plus(m.dry[i], dryComponents[i].heat)
	}
	m.freezable = max(0, m.water-bound*m.dry[0])
	return m
}

// ice is the mass fraction of ice, (x_w − x_b)(1 − T_f/T) below T_f.
// Source: ASHRAE Handbook—Refrigeration, Thermal Properties of Foods, ice fraction.
func (m *mixture) ice(t float64) float64 {
	if t >= m.freezing {
		return 0
	}
	return m.freezable * (1 - m.freezing/t)
}

// enthalpy is J/kg above that of the unfrozen food at the freezing point (at 0 °C if there is none).
func (m *mixture) enthalpy(t float64) float64 {
	f := min(m.freezing, 0)
	if t >= f {
		unfrozen := m.dryHeat.plus(m.water, water.heat)
		return unfrozen.integral(t) - unfrozen.integral(f)
	}
	sensible := m.dryHeat.plus(m.water, waterSubzero)
	h := sensible.integral(t) - sensible.integral(f)
	// The ice replaces water: ∫ x_i (c_ice − c_water) dT with x_i = A(1 − T_f/T), in closed form.
	d := ice.heat.plus(-1, waterSubzero)
	swap := func(t float64) float64 {
		return d.integral(t) - f*(d.a*math.Log(-t)+d.b*t+d.c*t*t/2)
	}
	h += m.freezable * (swap(t) - swap(f))
	return h - fusion*m.ice(t)
}

// apparent is dh/dT in J/(kg K), for t below the freezing point.
func (m *mixture) apparent(t float64) float64 {
	f := m.freezing
	d := ice.heat.plus(-1, waterSubzero)
	return m.dryHeat.plus(m.water, waterSubzero).at(t) + m.ice(t)*d.at(t) - fusion*m.freezable*f/(t*t)
}

// properties gives density and the parallel conductivity Σ x_v k with the ice present at t.
func (m *mixture) properties(t float64) (density, conductivity float64) {
	xi := m.ice(t)
	volume, weighted := 0.0, 0.0
	add := func(x float64, c *component) {
		v := x / c.density.at(t)
		volume += v
		weighted += v * c.conductivity.at(t)
	}
	add(m.water-xi, &water)
	if xi > 0 {
		add(xi, &ice)
	}
	for i, x := range m.dry {
		add(x, dryComponents[i])
	}
	return 1 / volume, weighted / volume
}

// unfrozenAt keeps t where the food is unfrozen and the polynomials hold.
func (c Composition) unfrozenAt(t quantity.Temperature) float64 {
	if !inside(float64(t), startMin, 150) {
		panic("heat: property temperature out of range")
	}
	return max(float64(t), min(float64(c.FreezingPoint), 0))
}

// Material gives the conductivity (parallel model, an upper bound: real muscle is up to 20 %
// lower) and diffusivity k/(ρc) of the unfrozen food; below the freezing point, those at it.
// Source: Choi & Okos (1986). Domain: a composition that passes [Composition.Check], −40 … 150 °C.
func (c Composition) Material(at quantity.Temperature) Material {
	t := c.unfrozenAt(at)
	m := c.mix()
	m.freezable = 0
	density, conductivity := m.properties(t)
	alpha := conductivity / (density * float64(c.SpecificHeat(at)))
	return Material{Diffusivity: Diffusivity(alpha), Conductivity: Conductivity(conductivity), Composition: &c}
}

// Density is that of the food, ice included: 1/Σ(x/ρ). Source and domain as for Material.
func (c Composition) Density(at quantity.Temperature) Density {
	if !inside(float64(at), startMin, 150) {
		panic("heat: property temperature out of range")
	}
	m := c.mix()
	density, _ := m.properties(float64(at))
	return Density(density)
}

// Conductivity is that of the food, ice included, by the parallel model. Source and domain as for Material.
func (c Composition) Conductivity(at quantity.Temperature) Conductivity {
	if !inside(float64(at), startMin, 150) {
		panic("heat: property temperature out of range")
	}
	m := c.mix()
	_, k := m.properties(float64(at))
	return Conductivity(k)
}

// SpecificHeat is that of the unfrozen food, Σ x c; below the freezing point, the value at it.
// Source and domain as for Material.
func (c Composition) SpecificHeat(at quantity.Temperature) SpecificHeat {
	m := c.mix()
	return SpecificHeat(m.dryHeat.plus(m.water, water.heat).at(c.unfrozenAt(at)))
}

// IceFraction is the mass of ice per mass of food. Source: ASHRAE Handbook—Refrigeration.
func (c Composition) IceFraction(at quantity.Temperature) float64 {
	m := c.mix()
	return m.ice(float64(at))
}

// Enthalpy is the heat that takes the food from one temperature to another, ice included.
// Method: Choi & Okos sensible heats, ASHRAE ice fraction, 333.6 kJ/kg of ice. Accuracy against
// measured enthalpies of meat and fish about 5 % (Fricke & Becker, HVAC&R Research 7 (2001) 311).
func (c Composition) Enthalpy(from, to quantity.Temperature) SpecificEnergy {
	if !inside(float64(from), startMin, 150) || !inside(float64(to), startMin, 150) {
		panic("heat: property temperature out of range")
	}
	m := c.mix()
	return SpecificEnergy(m.enthalpy(float64(to)) - m.enthalpy(float64(from)))
}

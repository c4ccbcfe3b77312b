package heat

import (
	"errors"
	"fmt"
	"math"
	"time"

	"bagwatch/internal/quantity"
)

// ErrVessel reports a bath, load or room outside what a kitchen has: 0.1 … 1000 L of water, areas
// up to 10 m², powers up to 100 kW, masses up to 1000 kg, temperatures −20 … 120 °C, or a
// sequence of temperatures the wrong way round.
var ErrVessel = errors.New("heat: implausible bath")

// Area is an area in m².
type Area float64

// Constants of the heat balance of a bath.
const (
	waterHeat = 4180.0 // J/(kg K), Choi & Okos (1986) at 20 … 60 °C; one litre is taken as one kilogram
	foodHeat  = 3500.0 // J/(kg K), unfrozen meat and fish 3310 … 3750, Choi & Okos (1986)
	// roomHumidity is the relative humidity of the room; evaporation falls by 1.4 % for 0.1 more at 60 °C.
	roomHumidity = 0.5
	// stefanBoltzmann in W/(m² K⁴). Source: CODATA 2018. Water radiates with emissivity 0.95 (Incropera et al., table A.11, from memory).
	stefanBoltzmann = 5.670374e-8
	waterEmissivity = 0.95
	// openAir is h = 1.52 ΔT^⅓ W/(m² K) over a warm level surface: McAdams, Heat Transmission, 3rd ed. (1954), from memory.
	openAir = 1.52
	// loadReserve is the margin a heater needs over the mean draw of a new load: house rule, no source.
	loadReserve = 1.3
)

// Vessel is a container of water in a room, perhaps with a heater.
type Vessel struct {
	Water  quantity.Volume
	Heater quantity.Power // zero with the power off
	Open   Area           // water surface open to the room; zero with a lid
	Walls  Area           // sides and bottom
	// WallFilm is the heat transfer coefficient through the walls to the room; for a bare metal or
	// plastic wall in still air about 8 W/(m² K) (common practice, no source).
	WallFilm Film
	Room     quantity.Temperature
}

// check validates the vessel together with temperatures of its water.
func (v Vessel) check(water ...quantity.Temperature) error {
	switch {
	case !inside(float64(v.Water), 0.1, 1000):
		return fmt.Errorf("%w: %g L", ErrVessel, float64(v.Water))
	case !inside(float64(v.Heater), 0, 100e3):
		return fmt.Errorf("%w: heater of %g W", ErrVessel, float64(v.Heater))
	case !inside(float64(v.Open), 0, 10) || !inside(float64(v.Walls), 0, 10) || !inside(float64(v.WallFilm), 0, 1000):
		return fmt.Errorf("%w: %g m² open, %g m² of walls at %g W/(m² K)", ErrVessel, float64(v.Open), float64(v.Walls), float64(v.WallFilm))
	}
	return checkKitchen(append(water, v.Room)...)
}

func checkKitchen(all ...quantity.Temperature) error {
	for _, t := range all {
		if !inside(float64(t), -20, 120) {
			return fmt.Errorf("%w: %g °C", ErrVessel, float64(t))
		}
	}
	return nil
}

// Loss is the heat the bath loses at a temperature: through the walls, and from its open surface
// by evaporation ([Evaporation]), radiation and air. It is negative below the room's temperature.
// Accuracy: 30 %, most of it the evaporation, on the high side. It fails with [ErrVessel].
func (v Vessel) Loss(bath quantity.Temperature) (quantity.Power, error) {
	if err := v.check(bath); err != nil {
		return 0, fmt.Errorf("loss: %w", err)
	}
	return quantity.Power(v.loss(float64(bath))), nil
}

func (v Vessel) loss(bath float64) float64 {
	room := float64(v.Room)
	dry := openAir*math.Cbrt(math.Abs(bath-room))*(bath-room) +
		waterEmissivity*stefanBoltzmann*(math.Pow(bath+273.15, 4)-math.Pow(room+273.15, 4))
	return float64(v.Walls)*float64(v.WallFilm)*(bath-room) +
		float64(v.Open)*(dry+evaporation(bath, room))
}

// evaporation is the heat of vaporisation in W/m², by the ASHRAE (Carrier) pool equation in still
// air, W = A (p_w − p_a) 0.089/Y with kPa, kJ/kg and kg/(s m²), so that the heat is 89 W/(m² kPa).
// Source: ASHRAE Handbook—HVAC Applications, natatoriums, from memory. Reported high for quiet
// water (Shah); a natural-convection analogy gives 12 … 23 % less at 55 … 85 °C. Zero where water would condense.
func evaporation(bath, room float64) float64 {
	at := func(t float64) float64 { return vapourPressure(quantity.Temperature(max(t, 0))) / 1000 }
	return max(0, 89*(at(bath)-roomHumidity*at(room)))
}

// Evaporation is the heat that an open water surface loses as vapour, and the water with it, over
// a span, to a room at 50 % relative humidity. It fails with [ErrVessel].
func Evaporation(open Area, bath, room quantity.Temperature, over time.Duration) (quantity.Power, quantity.Mass, error) {
	if err := (Vessel{Water: 1, Open: open, Room: room}).check(bath); err != nil {
		return 0, 0, fmt.Errorf("evaporation: %w", err)
	}
	if over < 0 {
		return 0, 0, fmt.Errorf("evaporation: %w: span of %v", ErrVessel, over)
	}
	power := float64(open) * evaporation(float64(bath), float64(room))
	// Latent heat 2501 − 2.381 T kJ/kg: linear fit to steam tables, 0.3 % over 0 … 90 °C, from memory.
	latent := 1000 * (2501 - 2.381*float64(bath))
	return quantity.Power(power), quantity.Mass(power * seconds(over) / latent), nil
}

// HeatUp is how long a heater needs for the water with a constant loss: M c ΔT/(P − loss).
// It fails with [ErrVessel], also if the heater does not beat the loss.
func HeatUp(water quantity.Volume, heater, loss quantity.Power, from, to quantity.Temperature) (time.Duration, error) {
	if err := (Vessel{Water: water, Heater: heater}).check(from, to); err != nil {
		return 0, fmt.Errorf("heat-up: %w", err)
	}
	if net := float64(heater - loss); to < from || !(net > 0) || !inside(float64(loss), -100e3, 100e3) {
		return 0, fmt.Errorf("heat-up: %w: from %g to %g °C with %g W", ErrVessel, float64(from), float64(to), net)
	}
	return duration(float64(water) * waterHeat * float64(to-from) / float64(heater-loss)), nil
}

// HeatUp is how long the vessel's heater needs, with the loss growing as [Vessel.Loss] says; false
// if it never gets there. It fails with [ErrVessel].
func (v Vessel) HeatUp(from, to quantity.Temperature) (time.Duration, bool, error) {
	if err := v.check(from, to); err != nil {
		return 0, false, fmt.Errorf("heat-up: %w", err)
	}
	return v.span(float64(from), float64(to))
}

// CoolTo is how long the water takes to fall to a temperature with the heater off; false if it
// never does. It fails with [ErrVessel].
func (v Vessel) CoolTo(from, to quantity.Temperature) (time.Duration, bool, error) {
	if err := v.check(from, to); err != nil {
		return 0, false, fmt.Errorf("cooling: %w", err)
	}
	v.Heater = 0
	return v.span(float64(from), float64(to))
}

// span integrates dt = M c dT/(P − loss(T)) by Simpson's rule.
func (v Vessel) span(from, to float64) (time.Duration, bool, error) {
	const panels = 200
	capacity := float64(v.Water) * waterHeat
	width := (to - from) / panels
	sum := 0.0
	for i := range panels + 1 {
		rate := (float64(v.Heater) - v.loss(from+float64(i)*width)) / capacity
		if width != 0 && !(rate/width > 1e-9) {
			return 0, false, nil // the wrong way, or so slow that it counts as never
		}
		weight := 2.0
		switch {
		case i == 0 || i == panels:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		if width != 0 {
			sum += weight * width / 3 / rate
		}
	}
	return duration(sum), true, nil
}

// Cool is the water's temperature some time after the power went off.
// Method: classical Runge–Kutta in steps of a minute or less. It fails with [ErrVessel].
func (v Vessel) Cool(from quantity.Temperature, after time.Duration) (quantity.Temperature, error) {
	if err := v.check(from); err != nil {
		return 0, fmt.Errorf("cooling: %w", err)
	}
	if after < 0 || after > untilMax {
		return 0, fmt.Errorf("cooling: %w: span of %v", ErrVessel, after)
	}
	return quantity.Temperature(v.cool(float64(from), seconds(after))), nil
}

func (v Vessel) cool(t, span float64) float64 {
	// The steps also stay within a tenth of the time constant of a thin film of water in a big tray.
	steepest := 0.1 * float64(v.Water) * waterHeat / (float64(v.Walls)*float64(v.WallFilm) + 1000*float64(v.Open) + 1)
	steps := int(math.Ceil(span / min(60, steepest)))
	rate := func(t float64) float64 { return -v.loss(t) / (float64(v.Water) * waterHeat) }
	for range steps {
		dt := span / float64(steps)
		a := rate(t)
		b := rate(t + dt/2*a)
		c := rate(t + dt/2*b)
		d := rate(t + dt*c)
		t += dt / 6 * (a + 2*b + 2*c + d)
	}
	return t
}

// Cooling is the end of a [History] for a bath whose power goes off at a time: ramps of five
// minutes along the cooling curve, then a hold at what is left. It is for appending to the
// segments before; the film is that of unmoved water. It fails with [ErrVessel].
func (v Vessel) Cooling(at time.Duration, bath quantity.Temperature, film Film, lasting time.Duration) (History, error) {
	if err := v.check(bath); err != nil {
		return nil, fmt.Errorf("cooling: %w", err)
	}
	if lasting < 0 || lasting > untilMax {
		return nil, fmt.Errorf("cooling: %w: span of %v", ErrVessel, lasting)
	}
	const piece = 5 * time.Minute
	var h History
	for done := time.Duration(0); done < lasting; done += piece {
		span := min(piece, lasting-done)
		next := quantity.Temperature(v.cool(float64(bath), seconds(span)))
		h = append(h, Ramp(at+done, bath, next, film))
		bath = next
	}
	return append(h, Hold(at+lasting, bath, film)), nil
}

// Mixing is the temperature the water and a load would share with the heater off: the lowest an
// uncontrolled pot can fall to. (M c T + m c' T₀)/(M c + m c'), c' = 3.5 kJ/(kg K), the load not frozen.
// It fails with [ErrVessel].
func Mixing(water quantity.Volume, bath quantity.Temperature, load quantity.Mass, start quantity.Temperature) (quantity.Temperature, error) {
	if err := (Vessel{Water: water}).check(bath, start); err != nil {
		return 0, fmt.Errorf("mixing: %w", err)
	}
	if !inside(float64(load), 0, 1000) {
		return 0, fmt.Errorf("mixing: %w: load of %g kg", ErrVessel, float64(load))
	}
	w, f := float64(water)*waterHeat, float64(load)*foodHeat
	return quantity.Temperature((w*float64(bath) + f*float64(start)) / (w + f)), nil
}

// Draw is the heat a new load takes from the bath at first: h A ΔT. It fails with [ErrVessel].
func Draw(film Film, surface Area, bath, start quantity.Temperature) (quantity.Power, error) {
	if err := (Vessel{Water: 1, Walls: surface, WallFilm: film}).check(bath, start); err != nil {
		return 0, fmt.Errorf("draw: %w", err)
	}
	return quantity.Power(float64(film) * float64(surface) * float64(bath-start)), nil
}

// Holds reports whether the heater keeps the bath at its setpoint with a load that draws so much at
// first: P at least 1.3 times the loss and half the draw (house rule). It fails with [ErrVessel].
func (v Vessel) Holds(bath quantity.Temperature, draw quantity.Power) (bool, error) {
	loss, err := v.Loss(bath)
	if err != nil {
		return false, err
	}
	if !inside(float64(draw), -1e6, 1e6) {
		return false, fmt.Errorf("%w: draw of %g W", ErrVessel, float64(draw))
	}
	return float64(v.Heater) >= loadReserve*(float64(loss)+float64(draw)/2), nil
}

// Chilling is a load to be cooled in ice water.
type Chilling struct {
	Food     quantity.Mass
	Heat     SpecificHeat         // zero means 3500 J/(kg K)
	From, To quantity.Temperature // of the food
	Water    quantity.Volume      // tap water the ice goes into
	Tap      quantity.Temperature
	Bath     quantity.Temperature // of the ice water at the end
}

// Ice is the ice that melts: [m c (T₁−T₂) + m_w c_w (T_w−T_f)]/(L + c_w T_f), a heat balance without
// gain from the room, so the least; have half as much again. It fails with [ErrVessel].
func (c Chilling) Ice() (quantity.Mass, error) {
	if err := checkKitchen(c.From, c.To, c.Tap, c.Bath); err != nil {
		return 0, fmt.Errorf("ice: %w", err)
	}
	if c.Heat == 0 {
		c.Heat = foodHeat
	}
	switch {
	case !inside(float64(c.Food), 0, 1000) || !inside(float64(c.Water), 0, 1000) || !inside(float64(c.Heat), 500, 5000):
		return 0, fmt.Errorf("ice: %w: %g kg of %g J/(kg K) in %g L", ErrVessel, float64(c.Food), float64(c.Heat), float64(c.Water))
	case c.To > c.From || c.Bath > c.To || c.Bath < 0 || (c.Water > 0 && c.Bath > c.Tap):
		return 0, fmt.Errorf("ice: %w: food from %g to %g °C, water from %g to %g °C", ErrVessel,
			float64(c.From), float64(c.To), float64(c.Tap), float64(c.Bath))
	}
	food := float64(c.Food) * float64(c.Heat) * float64(c.From-c.To)
	tap := float64(c.Water) * waterHeat * float64(c.Tap-c.Bath)
	return quantity.Mass((food + tap) / (fusion + waterHeat*float64(c.Bath))), nil
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// What /water takes when neither the message nor the settings say it. House rules: a middling tub and
// heater, water from the tap, a kilogram of food from the fridge.
const (
	usualLitres   quantity.Volume      = 12
	usualWatts    quantity.Power       = 1000
	usualTap      quantity.Temperature = 20
	usualBath     quantity.Temperature = 57
	usualLoad     quantity.Mass        = 1
	usualRoom     quantity.Temperature = 20
	fridgeAt      quantity.Temperature = 5
	coldTap       quantity.Temperature = 15
	iceBath       quantity.Temperature = 2
	wallFilm      heat.Film            = 8   // a bare tub in still air, common practice, no source
	iceReserve                         = 1.5 // the balance counts no gain from the room
	icePerKilo    quantity.Volume      = 2   // litres of cold water for a kilogram of food
	deepDip       quantity.Temperature = 5   // a drop worth a warning
	carriedHeat                        = 3500.0
	waterCapacity                      = 4180.0 // J/(kg K), as in the heat balance itself
)

// bathQuestion is what /water was asked.
type bathQuestion struct {
	litres   quantity.Volume
	watts    quantity.Power
	from, to quantity.Temperature
	load     quantity.Mass
	assumed  []string
}

// water says how long the bath takes to heat, how far a load makes it drop, and how much ice chills the
// load again.
func (t *turn) water(ctx context.Context, text string) error {
	q, ok := t.bathQuestion(text)
	if !ok {
		return t.say(ctx, t.lang.Lines(reply.WaterImplausible, nil))
	}
	answer, err := t.bathAnswer(q)
	if errors.Is(err, heat.ErrVessel) {
		return t.say(ctx, t.lang.Lines(reply.WaterImplausible, nil))
	}
	if err != nil {
		return err
	}
	return t.say(ctx, answer)
}

// bathQuestion reads the figures; false when one has no place.
func (t *turn) bathQuestion(text string) (bathQuestion, bool) {
	figures, _ := t.vocabulary().figures(text)
	s := t.entry.doc.Settings
	q := bathQuestion{litres: s.Litres, watts: s.Watts, load: 0}
	var degrees []quantity.Temperature
	for _, f := range figures {
		if v, ok := f.volume(); ok {
			q.litres = v
		} else if p, ok := f.power(); ok {
			q.watts = p
		} else if m, ok := f.mass(); ok {
			q.load = m
		} else if d, ok := f.temperature(t.units); ok {
			degrees = append(degrees, d)
		} else {
			return q, false
		}
	}
	assume := func(id reply.ID, value string) {
		q.assumed = append(q.assumed, t.lang.Say(id, reply.Data{"Value": value}))
	}
	if q.litres == 0 {
		q.litres = usualLitres
		assume(reply.WaterFactLitres, t.lang.Volume(q.litres, t.units))
	}
	if q.watts == 0 {
		q.watts = usualWatts
		assume(reply.WaterFactWatts, t.lang.Power(q.watts))
	}
	q.from, q.to = usualTap, t.lastSetpoint()
	switch len(degrees) {
	case 0:
		assume(reply.WaterFactFrom, t.lang.Temperature(q.from, t.units))
		assume(reply.WaterFactTo, t.lang.Temperature(q.to, t.units))
	case 1:
		q.to = degrees[0]
		assume(reply.WaterFactFrom, t.lang.Temperature(q.from, t.units))
	case 2:
		q.from, q.to = degrees[0], degrees[1]
	default:
		return q, false
	}
	if q.load == 0 {
		q.load = usualLoad
		assume(reply.WaterFactLoad, t.lang.Mass(q.load, t.units))
	}
	return q, true
}

// lastSetpoint is that of what the person asked last, else a usual one.
func (t *turn) lastSetpoint() quantity.Temperature {
	r, ok := t.entry.doc.Last(t.in.From.ID.kept(), t.in.At)
	if !ok {
		return usualBath
	}
	plan, err := t.model.Plan(t.entry.doc.Settings.Fill(r))
	if err != nil {
		return usualBath
	}
	return plan.Setpoint
}

// tub sees the bath as an open cube of water in a warm room: the least wall for its volume, but a wide
// surface. An estimate, and said to be one.
func tub(litres quantity.Volume, watts quantity.Power, open bool) heat.Vessel {
	side := math.Cbrt(float64(litres) / 1000)
	v := heat.Vessel{Water: litres, Heater: watts, Walls: heat.Area(5 * side * side), WallFilm: wallFilm, Room: usualRoom}
	if open {
		v.Open = heat.Area(side * side)
	}
	return v
}

func (t *turn) bathAnswer(q bathQuestion) (reply.Text, error) {
	l := t.lang
	data := reply.Data{
		"Litres": l.Volume(q.litres, t.units), "Watts": l.Power(q.watts),
		"From": l.Temperature(q.from, t.units), "To": l.Temperature(q.to, t.units),
	}
	text := reply.Text{}
	if q.to <= q.from {
		text = append(text, l.Titled(reply.WaterHot, data)...)
	} else {
		covered, gets, err := tub(q.litres, q.watts, false).HeatUp(q.from, q.to)
		if err != nil {
			return nil, fmt.Errorf("water: %w", err)
		}
		open, opens, err := tub(q.litres, q.watts, true).HeatUp(q.from, q.to)
		if err != nil {
			return nil, fmt.Errorf("water: %w", err)
		}
		data["Covered"], data["Open"] = l.Later(covered), l.Later(open)
		id := reply.WaterHeat
		switch {
		case !gets:
			id = reply.WaterNever
		case !opens:
			id = reply.WaterHeatcovered
		case data["Covered"] == data["Open"]:
			id = reply.WaterHeatsame
		}
		text = append(text, l.Titled(id, data)...)
	}
	text = append(text, nil)
	dip, err := heat.Mixing(q.litres, q.to, q.load, fridgeAt)
	if err != nil {
		return nil, fmt.Errorf("water: %w", err)
	}
	text = append(text, l.Lines(reply.WaterLoad, reply.Data{"Mass": l.Mass(q.load, t.units), "T": l.Dip(dip, t.units)})...)
	if q.to-dip > deepDip && q.to-fridgeAt > deepDip {
		// The volume whose mixing temperature is deepDip below the bath.
		enough := float64(q.load) * carriedHeat / waterCapacity * float64((q.to-fridgeAt)/deepDip-1)
		text = append(text, l.Lines(reply.WaterDeep, reply.Data{"Litres": l.Volume(quantity.Volume(math.Ceil(enough)), t.units)})...)
	}
	if q.to > fridgeAt {
		water := icePerKilo * quantity.Volume(q.load)
		ice, err := heat.Chilling{Food: q.load, From: q.to, To: fridgeAt, Water: water, Tap: coldTap, Bath: iceBath}.Ice()
		if err != nil {
			return nil, fmt.Errorf("water: %w", err)
		}
		ice = quantity.Mass(math.Ceil(float64(ice)*iceReserve*10) / 10)
		text = append(text, l.Lines(reply.WaterIce, reply.Data{"Ice": l.Mass(ice, t.units), "Water": l.Volume(water, t.units)})...)
	}
	if len(q.assumed) > 0 {
		text = append(text, l.Lines(reply.WaterAssumed, reply.Data{"Facts": strings.Join(q.assumed, ", ")})...)
	}
	return append(text, l.Lines(reply.WaterBath, nil)...), nil
}

func (t *turn) vocabulary() vocabulary { return t.Bot.units[t.lang.Tag] }

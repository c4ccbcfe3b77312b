package kitchen

import (
	"fmt"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/quantity"
)

// Units says what a chat reads numbers in. Unset follows the language.
type Units uint8

// The units.
const (
	UnitsUnset Units = iota
	Metric
	Imperial
)

// Settings are what a chat chose. Zero values mean "not chosen".
type Settings struct {
	Kind     Kind
	Title    string
	Language string // IETF tag
	Units    Units
	AtRisk   bool   // somebody at higher risk always eats along
	Country  string // two letters, whose minimum temperatures are printed

	Litres           quantity.Volume
	Watts            quantity.Power
	ThermometerError quantity.Difference
	StillPot         bool
	Altitude         quantity.Length

	Zone  string // IANA name
	Quiet Quiet
}

// TimeOfDay is whole minutes since midnight by the chat's own clock.
type TimeOfDay int

const day = TimeOfDay(24 * 60)

// Quiet are the hours in which only urgent news is told. They are off when both ends are the same.
type Quiet struct{ From, To TimeOfDay }

// Bounds of settings; more is a slip of the finger. House rules.
const (
	maxLitres                       = 1000
	maxWatts                        = 20_000
	maxError    quantity.Difference = 5
	minAltitude                     = -430 // the lowest shore on land, m
	maxAltitude                     = 9000 // above the highest summit, m
	maxTag                          = 35   // bytes of an IETF tag, RFC 5646 §4.4.1
	maxZone                         = 64
	maxCode                         = 8
)

// Fill gives a request what the settings say and the cook did not.
func (s Settings) Fill(r cook.Request) cook.Request {
	r.AtRisk = r.AtRisk || s.AtRisk
	if r.Country == "" {
		r.Country = s.Country
	}
	if r.Bath == "" && s.StillPot {
		r.Bath = cook.BathStill
	}
	if r.Altitude == 0 {
		r.Altitude = s.Altitude
	}
	if r.ThermometerError == 0 {
		r.ThermometerError = s.ThermometerError
	}
	return r
}

// settle checks s and brings its figures to the steps they are stored in.
func (s Settings) settle() (Settings, error) {
	s.Title = clip(s.Title, MaxTitle)
	s.Litres = quantity.Volume(floorTo(float64(s.Litres), deci))
	s.Watts = quantity.Power(floorTo(float64(s.Watts), 1))
	s.ThermometerError = quantity.Difference(ceilTo(float64(s.ThermometerError), centi))
	s.Altitude = quantity.Length(ceilTo(float64(s.Altitude), 1))
	switch {
	case s.Kind > Kitchen, s.Units > Imperial,
		!word(s.Language, maxTag), !word(s.Country, maxCode), !word(s.Zone, maxZone),
		!(s.Litres >= 0 && s.Litres <= maxLitres), !(s.Watts >= 0 && s.Watts <= maxWatts),
		!(s.ThermometerError >= 0 && s.ThermometerError <= maxError),
		!(s.Altitude >= minAltitude && s.Altitude <= maxAltitude),
		s.Quiet.From < 0, s.Quiet.From >= day, s.Quiet.To < 0, s.Quiet.To >= day:
		return s, ErrValue
	}
	return s, nil
}

// SetSettings replaces the settings, kind and title included.
func (d *Document) SetSettings(s Settings) error {
	s, err := s.settle()
	if err != nil {
		return err
	}
	if s.Zone != "" {
		if _, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "Local" {
			return fmt.Errorf("%w: %q", ErrZone, s.Zone)
		}
	}
	if s.Quiet != d.Settings.Quiet || s.Zone != d.Settings.Zone {
		d.Held = time.Time{}
	}
	d.Settings = s
	return nil
}

// word tells whether s is short and plain ASCII, as codes and tags are.
func word(s string, limit int) bool {
	if len(s) > limit {
		return false
	}
	for i := range len(s) {
		if s[i] <= ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

// quiet answers for one chat's quiet hours. Its zero value is never quiet.
type quiet struct {
	hours Quiet
	zone  *time.Location
}

// quiet looks up the zone. Without one the hours are UTC; a zone that this machine does not know keeps
// nothing back, for news must not be lost over it.
func (s Settings) quiet() quiet {
	if s.Quiet.From == s.Quiet.To {
		return quiet{}
	}
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		return quiet{}
	}
	return quiet{hours: s.Quiet, zone: zone}
}

// left is how long it is quiet from t on by the clock on the wall; 0 when it is not quiet.
func (q quiet) left(t time.Time) time.Duration {
	if q.zone == nil {
		return 0
	}
	local := t.In(q.zone)
	now := TimeOfDay(local.Hour()*60 + local.Minute())
	since, length := (now-q.hours.From+day)%day, (q.hours.To-q.hours.From+day)%day
	if since >= length {
		return 0
	}
	return time.Duration(length-since)*time.Minute - time.Duration(local.Second())*time.Second - time.Duration(local.Nanosecond())
}

// until is the first moment from t on that is not quiet. When the clocks change in between, it is found
// minute by minute, twice a year.
func (q quiet) until(t time.Time) time.Time {
	left := q.left(t)
	if left == 0 {
		return t
	}
	end := t.Add(left)
	_, before := t.In(q.zone).Zone()
	if _, after := end.In(q.zone).Zone(); before == after {
		return end
	}
	// Clocks change at whole minutes, so it is enough to look at those.
	at := t.Add(left % time.Minute)
	for range 2 * day {
		if q.left(at) == 0 {
			return at
		}
		at = at.Add(time.Minute)
	}
	return at
}

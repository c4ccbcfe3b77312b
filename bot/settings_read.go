package bot

import (
	"context"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/lethality"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
	"bagwatch/internal/zone"
)

// reading is what typed settings were understood as.
type reading struct {
	set   func(*kitchen.Settings)
	zones []zone.Zone // several when the city is not clear
	city  string      // what was taken for a city, found or not
}

// read reads typed settings; what is the one that was asked for, or "".
func (t *turn) read(text, what string) (reading, bool) {
	figures, words := t.vocabulary().figures(text)
	var r reading
	var sets []func(*kitchen.Settings)
	for _, f := range figures {
		if f.unit == unitNone {
			f.unit = map[string]unit{setLitres: unitLitre, setWatts: unitWatt, setThermometer: unitCelsius, setAltitude: unitMetre}[what]
		}
		if v, ok := f.volume(); ok && f.value > 0 {
			sets = append(sets, func(s *kitchen.Settings) { s.Litres = v })
		} else if p, ok := f.power(); ok && f.value > 0 {
			sets = append(sets, func(s *kitchen.Settings) { s.Watts = p })
		} else if d, ok := f.difference(); ok && f.value >= 0 {
			sets = append(sets, func(s *kitchen.Settings) { s.ThermometerError = d })
		} else if h, ok := f.height(); ok {
			sets = append(sets, func(s *kitchen.Settings) { s.Altitude = h })
		} else {
			return r, false
		}
	}
	if len(words) > 0 {
		r.city = strings.Join(words, " ")
		if len(figures) == 0 {
			r.city = strings.TrimSpace(text)
		}
		r.zones, _ = zone.Find(r.city)
		if len(r.zones) == 0 {
			return r, false
		}
		if len(r.zones) == 1 {
			name := r.zones[0].Name
			sets = append(sets, func(s *kitchen.Settings) { s.Zone = name })
		}
	}
	if len(sets) == 0 && len(r.zones) == 0 {
		return r, false
	}
	r.set = func(s *kitchen.Settings) {
		for _, f := range sets {
			f(s)
		}
	}
	return r, true
}

// setter reads the value of a button. It can be forged, so that everything is checked.
func (t *turn) setter(what, value string) (func(*kitchen.Document) error, error) {
	x, err := strconv.ParseFloat(value, 64)
	figure := err == nil
	switch {
	case what == setUnits && value == string(reply.Imperial):
		return t.settingsChange(func(s *kitchen.Settings) { s.Units = kitchen.Imperial }), nil
	case what == setUnits && value == string(reply.Metric):
		return t.settingsChange(func(s *kitchen.Settings) { s.Units = kitchen.Metric }), nil
	case what == setLanguage && value == valueUnset:
		return t.settingsChange(func(s *kitchen.Settings) { s.Language = "" }), nil
	case what == setLanguage && t.texts.Language(value).Tag == value:
		return t.settingsChange(func(s *kitchen.Settings) { s.Language = value }), nil
	case what == setAtRisk && (value == valueYes || value == valueNo):
		return t.settingsChange(func(s *kitchen.Settings) { s.AtRisk = value == valueYes }), nil
	case what == setPot && (value == valueYes || value == valueNo):
		return t.settingsChange(func(s *kitchen.Settings) { s.StillPot = value == valueYes }), nil
	case what == setLitres && figure:
		return t.settingsChange(func(s *kitchen.Settings) { s.Litres = quantity.Volume(x) }), nil
	case what == setWatts && figure:
		return t.settingsChange(func(s *kitchen.Settings) { s.Watts = quantity.Power(x) }), nil
	case what == setThermometer && figure:
		return t.settingsChange(func(s *kitchen.Settings) { s.ThermometerError = quantity.Difference(x) }), nil
	case what == setAltitude && figure:
		return t.settingsChange(func(s *kitchen.Settings) { s.Altitude = quantity.Length(x) }), nil
	case what == setCountry && (value == valueUnset || knownRegion(value)):
		return t.settingsChange(func(s *kitchen.Settings) { s.Country = strings.TrimPrefix(value, valueUnset) }), nil
	case what == setZone:
		if z, ok := zone.ByName(value); ok {
			return t.settingsChange(func(s *kitchen.Settings) { s.Zone = z.Name }), nil
		}
	case what == setQuiet:
		if q, ok := quietHours(value); ok {
			return t.settingsChange(func(s *kitchen.Settings) { s.Quiet = q }), nil
		}
	}
	return nil, ErrPacked
}

// regionOrder are the countries whose official temperatures are known.
var regionOrder = [...]lethality.Region{lethality.UnitedStates, lethality.UnitedKingdom, lethality.Ireland, lethality.Germany}

func knownRegion(s string) bool {
	for _, r := range regionOrder {
		if string(r) == s {
			return true
		}
	}
	return false
}

// quietHours reads "22-7"; "0-0" is off.
func quietHours(s string) (kitchen.Quiet, bool) {
	from, to, _ := strings.Cut(s, "-")
	f, err1 := strconv.Atoi(from)
	u, err2 := strconv.Atoi(to)
	if err1 != nil || err2 != nil || f < 0 || f > 23 || u < 0 || u > 23 {
		return kitchen.Quiet{}, false
	}
	return kitchen.Quiet{From: kitchen.TimeOfDay(f * 60), To: kitchen.TimeOfDay(u * 60)}, true
}

// zoneButtons offer clocks, each with the time it shows.
func (t *turn) zoneButtons(zones []zone.Zone) [][]Button {
	const most = 9
	var out []Button
	for _, z := range zones[:min(most, len(zones))] {
		loc, err := z.Location()
		if err != nil {
			continue
		}
		out = append(out, Button{
			Label: t.lang.Say(reply.SettingsCitytime, reply.Data{"City": z.City, "Time": t.in.At.In(loc).Format(clockLayout)}),
			Data:  string(actSetting) + setZone + "=" + z.Name,
		})
	}
	return rows(out)
}

// clockLayout is how times of day are printed: as on a kitchen clock.
const clockLayout = "15:04"

// place offers the clocks nearest to a place that was sent. The place itself is not kept.
func (t *turn) place(ctx context.Context) error {
	if t.chat.Group && !t.in.ToBot && t.entry.person(t.in.From.ID, t.in.At).waiting != setZone {
		return nil
	}
	zones := zone.Near(t.in.Latitude, t.in.Longitude, t.in.At, perRow)
	if len(zones) == 0 {
		return t.say(ctx, t.lang.Lines(reply.BotNotext, nil))
	}
	_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.SettingsNearplace, nil), Buttons: t.zoneButtons(zones)})
	return err
}

// zoneValue prints a chat's clock: its city and what it shows.
func (t *turn) zoneValue(name string) string {
	z, ok := zone.ByName(name)
	loc, err := time.LoadLocation(name)
	if name == "" || err != nil {
		return t.lang.Say(reply.SettingsValueUnset, nil)
	}
	if !ok {
		z.City = name
	}
	return t.lang.Say(reply.SettingsValueClock, reply.Data{"City": z.City, "Time": t.in.At.In(loc).Format(clockLayout)})
}

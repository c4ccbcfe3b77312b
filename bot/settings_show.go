package bot

import (
	"fmt"
	"strconv"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/reply"
)

// usualError is the thermometer error that the careful estimate takes at least.
const usualError quantity.Difference = 0.5

// settingsMessage shows all settings and a button for each.
func (t *turn) settingsMessage() Message {
	title := reply.SettingsTitle
	if t.chat.Group {
		title = reply.SettingsTitlegroup
	}
	text := t.lang.Titled(title, nil)
	for _, line := range t.settingLines() {
		text = append(text, reply.Line{{Text: line}})
	}
	var buttons []Button
	for _, b := range [...]struct {
		id   reply.ID
		what string
	}{
		{reply.SettingsButtonUnits, setUnits}, {reply.SettingsButtonLanguage, setLanguage}, {reply.SettingsButtonAtrisk, setAtRisk},
		{reply.SettingsButtonBath, setLitres}, {reply.SettingsButtonHeater, setWatts}, {reply.SettingsButtonThermometer, setThermometer},
		{reply.SettingsButtonPot, setPot}, {reply.SettingsButtonAltitude, setAltitude}, {reply.SettingsButtonClock, setZone},
		{reply.SettingsButtonCountry, setCountry}, {reply.SettingsButtonQuiet, setQuiet},
	} {
		buttons = append(buttons, Button{Label: t.lang.Say(b.id, nil), Data: string(actSetting) + b.what})
	}
	return Message{Text: text, Buttons: rows(buttons)}
}

// settingLines are the settings as they are, a line each, always in the same order.
func (t *turn) settingLines() []string { return t.linesOf(t.entry.doc.Settings) }

func (t *turn) linesOf(s kitchen.Settings) []string {
	say := func(id reply.ID) string { return t.lang.Say(id, nil) }
	line := func(id reply.ID, value string) string { return t.lang.Say(id, reply.Data{"Value": value}) }
	unset := say(reply.SettingsValueUnset)

	units := say(reply.SettingsValueMetric)
	if s.Units == kitchen.Imperial || s.Units == kitchen.UnitsUnset && t.units == reply.Imperial {
		units = say(reply.SettingsValueImperial)
	}
	language := say(reply.SettingsValueFollow)
	if s.Language != "" {
		language = t.texts.Language(s.Language).Name
	}
	risk := reply.SettingsValueRiskno
	if s.AtRisk {
		risk = reply.SettingsValueRiskyes
	}
	bath, heater := unset, unset
	if s.Litres > 0 {
		bath = t.lang.Volume(s.Litres, t.units)
	}
	if s.Watts > 0 {
		heater = t.lang.Power(s.Watts)
	}
	off := t.lang.Say(reply.SettingsValueWithin, reply.Data{"D": t.lang.Difference(max(s.ThermometerError, usualError), t.units)})
	pot := reply.SettingsValueMoving
	if s.StillPot {
		pot = reply.SettingsValueStill
	}
	altitude := say(reply.SettingsValueSealevel)
	if s.Altitude != 0 {
		altitude = t.lang.Height(s.Altitude, t.units)
	}
	country := say(reply.SettingsValueAllcountries)
	if s.Country != "" {
		country = say(reply.ID("country." + s.Country))
	}
	quiet := say(reply.SettingsValueOff)
	if s.Quiet.From != s.Quiet.To {
		quiet = t.quietValue(s.Quiet)
	}
	return []string{
		line(reply.SettingsUnits, units), line(reply.SettingsLanguage, language), line(reply.SettingsAtrisk, say(risk)),
		line(reply.SettingsBath, bath), line(reply.SettingsHeater, heater), line(reply.SettingsThermometer, off),
		line(reply.SettingsPot, say(pot)), line(reply.SettingsAltitude, altitude), line(reply.SettingsClock, t.zoneValue(s.Zone)),
		line(reply.SettingsCountry, country), line(reply.SettingsQuiet, quiet),
	}
}

func (t *turn) quietValue(q kitchen.Quiet) string {
	clock := func(m kitchen.TimeOfDay) string { return fmt.Sprintf("%02d:%02d", m/60, m%60) }
	return t.lang.Say(reply.SettingsValueQuiet, reply.Data{"From": clock(q.From), "To": clock(q.To)})
}

// The figures offered as buttons. House rules: what tubs, heaters and thermometers usually have.
var (
	offeredLitres   = [...]float64{8, 12, 20, 30}
	offeredWatts    = [...]float64{800, 1000, 1200, 2000}
	offeredErrors   = [...]float64{0.5, 1, 2}
	offeredAltitude = [...]float64{0, 500, 1000, 1500, 2000}
	offeredQuiet    = [...]string{"22-7", "23-8"}
)

// choices are the buttons of one setting; false when there is no such.
func (t *turn) choices(what string) (Message, bool) {
	s := t.entry.doc.Settings
	say := func(id reply.ID) string { return t.lang.Say(id, nil) }
	var buttons []Button
	add := func(label, value string, chosen bool) {
		if chosen {
			label = t.lang.Say(reply.ButtonChosen, reply.Data{"Label": label})
		}
		buttons = append(buttons, Button{Label: reply.Capital(label), Data: string(actSetting) + what + "=" + value})
	}
	figures := func(list []float64, now float64, show func(float64) string) {
		for _, x := range list {
			add(show(x), strconv.FormatFloat(x, 'f', -1, 64), x == now)
		}
		buttons = append(buttons, Button{Label: say(reply.ButtonOther), Data: string(actSetting) + what + "=" + valueType})
	}
	var ask reply.ID
	switch what {
	case setUnits:
		ask = reply.SettingsAskUnits
		add(say(reply.SettingsValueMetric), string(reply.Metric), t.units == reply.Metric)
		add(say(reply.SettingsValueImperial), string(reply.Imperial), t.units == reply.Imperial)
	case setLanguage:
		ask = reply.SettingsAskLanguage
		add(say(reply.SettingsValueFollow), valueUnset, s.Language == "")
		for _, tag := range t.texts.Tags() {
			add(t.texts.Language(tag).Name, tag, s.Language == tag)
		}
	case setAtRisk:
		ask = reply.SettingsAskAtrisk
		add(say(reply.SettingsValueRiskyes), valueYes, s.AtRisk)
		add(say(reply.SettingsValueRiskno), valueNo, !s.AtRisk)
	case setLitres:
		ask = reply.SettingsAskBath
		figures(offeredLitres[:], float64(s.Litres), func(x float64) string { return t.lang.Volume(quantity.Volume(x), t.units) })
	case setWatts:
		ask = reply.SettingsAskHeater
		figures(offeredWatts[:], float64(s.Watts), func(x float64) string { return t.lang.Power(quantity.Power(x)) })
	case setThermometer:
		ask = reply.SettingsAskThermometer
		figures(offeredErrors[:], float64(max(s.ThermometerError, usualError)), func(x float64) string { return t.lang.Difference(quantity.Difference(x), t.units) })
	case setPot:
		ask = reply.SettingsAskPot
		add(say(reply.SettingsValueMoving), valueNo, !s.StillPot)
		add(say(reply.SettingsValueStill), valueYes, s.StillPot)
	case setAltitude:
		ask = reply.SettingsAskAltitude
		figures(offeredAltitude[:], float64(s.Altitude), func(x float64) string {
			if x == 0 {
				return say(reply.SettingsValueSealevel)
			}
			return t.lang.Height(quantity.Length(x), t.units)
		})
	case setCountry:
		ask = reply.SettingsAskCountry
		for _, r := range regionOrder {
			add(say(reply.ID("country."+string(r))), string(r), s.Country == string(r))
		}
		add(say(reply.SettingsValueAllcountries), valueUnset, s.Country == "")
	case setQuiet:
		ask = reply.SettingsAskQuiet
		if s.Zone == "" { // quiet hours go by the clock
			return Message{Text: t.lang.Lines(reply.SettingsNeedzone, nil), Buttons: [][]Button{{
				{Label: say(reply.SettingsButtonClock), Data: string(actSetting) + setZone}, t.backToSettings(),
			}}}, true
		}
		for _, value := range offeredQuiet {
			q, _ := quietHours(value)
			add(t.quietValue(q), value, s.Quiet == q)
		}
		add(say(reply.SettingsValueOff), "0-0", s.Quiet.From == s.Quiet.To)
	default:
		return Message{}, false
	}
	return Message{Text: t.lang.Lines(ask, nil), Buttons: append(rows(buttons), []Button{t.backToSettings()})}, true
}

func (t *turn) backToSettings() Button {
	return Button{Label: t.lang.Say(reply.ButtonBack, nil), Data: string(actSetting)}
}

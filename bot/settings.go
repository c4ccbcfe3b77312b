package bot

import (
	"context"
	"slices"
	"strings"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// The settings by their letter in a button's data, and by what is waited for. Only append.
const (
	setUnits       = "u"
	setLanguage    = "l"
	setAtRisk      = "r"
	setLitres      = "b"
	setWatts       = "h"
	setThermometer = "t"
	setPot         = "p"
	setAltitude    = "a"
	setZone        = "z"
	setCountry     = "c"
	setQuiet       = "q"
)

// Values of a setting's button besides figures.
const (
	valueMenu  = ""  // no "=": the choices
	valueType  = "?" // asks to type one
	valueUnset = "-"
	valueYes   = "1"
	valueNo    = "0"
)

// settings shows them, or takes what was typed behind the command.
func (t *turn) settings(ctx context.Context, text string) error {
	if text == "" {
		_, err := t.send(ctx, t.settingsMessage())
		return err
	}
	return t.typed(ctx, text, "")
}

// setting answers a button under /settings: "b" shows the choices for the bath, "b=12" takes one, "b=?"
// asks for another, nothing goes back.
func (t *turn) setting(ctx context.Context, data string) error {
	if data == "" {
		return t.show(ctx, t.settingsMessage())
	}
	what, value, chosen := strings.Cut(data, "=")
	switch {
	case !chosen && (what == setZone):
		return t.askTyped(ctx, what)
	case !chosen:
		m, ok := t.choices(what)
		if !ok {
			return ErrPacked
		}
		return t.show(ctx, m)
	case value == valueType:
		return t.askTyped(ctx, what)
	}
	if err := t.mayset(ctx); err != nil {
		return err
	}
	set, err := t.setter(what, value)
	if err != nil {
		return err
	}
	if _, err := t.change(ctx, set); err != nil {
		return err
	}
	t.settle() // it may be the language
	if err := t.notice(ctx, t.lang.Say(reply.SettingsSaved, nil)); err != nil {
		return err
	}
	if err := t.show(ctx, t.settingsMessage()); err != nil {
		return err
	}
	return t.tellReplanned(ctx)
}

// mayset tells whether the person may change settings: a kitchen's are its admins'.
func (t *turn) mayset(ctx context.Context) error {
	ok, err := t.isAdmin(ctx)
	if err == nil && !ok {
		err = errAdmins
	}
	return err
}

// settingsChange changes a copy of the settings. When that changes how the bath heats, what is in it is
// planned again in the same commit.
func (t *turn) settingsChange(f func(*kitchen.Settings)) func(*kitchen.Document) error {
	return func(d *kitchen.Document) error {
		before, s := d.Settings, d.Settings
		f(&s)
		t.replanned = nil
		if err := d.SetSettings(s); err != nil {
			return err
		}
		if now := d.Settings; now.StillPot != before.StillPot || now.Altitude != before.Altitude || now.ThermometerError != before.ThermometerError {
			t.replanned = slices.DeleteFunc(d.Recompute(t.model, t.in.At), func(c kitchen.Change) bool {
				return c.Moved() == 0 && c.Before.Trouble == c.After.Trouble // nothing that anybody would see
			})
		}
		return t.refollow(d, before)
	}
}

// tellReplanned says what became of the bags in the bath after the settings changed.
func (t *turn) tellReplanned(ctx context.Context) error {
	if len(t.replanned) == 0 {
		return nil
	}
	text := t.lang.Titled(reply.SettingsReplanned, nil)
	for _, c := range t.replanned {
		text = append(text, t.lang.BagLine(c.After, t.bagOptions()))
	}
	if err := t.say(ctx, text); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// askTyped asks for a value and waits for it.
func (t *turn) askTyped(ctx context.Context, what string) error {
	if err := t.mayset(ctx); err != nil {
		return err
	}
	id, ok := map[string]reply.ID{
		setLitres: reply.SettingsTypeBath, setWatts: reply.SettingsTypeHeater, setThermometer: reply.SettingsTypeThermometer,
		setAltitude: reply.SettingsTypeAltitude, setZone: reply.SettingsAskClock,
	}[what]
	if !ok {
		return ErrPacked
	}
	if what == setZone && !t.chat.Group {
		id = reply.SettingsAskClockplace
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	if _, err := t.send(ctx, Message{Text: t.lang.Lines(id, nil), AskReply: true}); err != nil {
		return err
	}
	t.entry.person(t.in.From.ID, t.in.At).waiting = what
	return nil
}

// awaited takes a message as the value that was asked for. A message that is something to cook instead is
// left alone, and the question is dropped.
func (t *turn) awaited(ctx context.Context, text string) (done bool, err error) {
	g := t.entry.person(t.in.From.ID, t.in.At)
	if g.waiting == "" {
		return false, nil
	}
	what := g.waiting
	if act, id, ok := strings.Cut(what, ":"); ok {
		if act == awaitNote {
			return true, t.awaitedNote(ctx, id, text)
		}
		return true, t.awaitedBag(ctx, act, id, text)
	}
	_, bare := t.read(text, what)
	if !bare {
		u := t.parsers[t.lang.Tag].Parse(text)
		if u.Food.ID != "" || u.Intent != "" {
			g.waiting = ""
			return false, nil
		}
	}
	if err := t.typed(ctx, text, what); err != nil {
		return true, err
	}
	return true, nil
}

// typed takes settings as typed: figures by their units, anything else as a city. A bare figure is for
// what was asked.
func (t *turn) typed(ctx context.Context, text, what string) error {
	if err := t.mayset(ctx); err != nil {
		return err
	}
	r, ok := t.read(text, what)
	switch {
	case ok && len(r.zones) > 1:
		_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.SettingsWhichcity, nil), Buttons: t.zoneButtons(r.zones)})
		return err
	case !ok && r.city != "" && (what == "" || what == setZone):
		return t.say(ctx, t.lang.Lines(reply.SettingsNocity, reply.Data{"Typed": reply.Echo(r.city)}))
	case !ok:
		return t.say(ctx, t.lang.Lines(reply.SettingsUnread, reply.Data{"Typed": reply.Echo(text)}))
	}
	before := t.entry.doc.Settings
	if _, err := t.change(ctx, t.settingsChange(r.set)); err != nil {
		return err
	}
	t.entry.person(t.in.From.ID, t.in.At).waiting = ""
	t.settle()
	var changed []string
	now := t.settingLines()
	for i, line := range t.linesOf(before) {
		if line != now[i] {
			changed = append(changed, now[i])
		}
	}
	if err := t.say(ctx, t.lang.Lines(reply.SettingsSavedline, reply.Data{"Lines": strings.Join(changed, ". ")})); err != nil {
		return err
	}
	return t.tellReplanned(ctx)
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// What a button does with kept food. Only append.
const (
	keptMore   = "more"
	keptEaten  = "eat"
	keptThrown = "out"
	keptReheat = "warm"
)

func keptData(verb string, id kitchen.KeptID) string {
	return string(actKept) + verb + "/" + strconv.FormatUint(uint64(id), 10)
}

// keptName names kept food as a bag is named.
func (t *turn) keptName(k kitchen.Kept) string {
	return t.lang.Bag(kitchen.Bag{Request: cook.Request{Food: k.Food, Pieces: k.Pieces}, Name: k.Name})
}

// keptLine says what is kept where, and until when: the earliest date that it is anywhere, where no clock
// is known.
func (t *turn) keptLine(k kitchen.Kept) string {
	zone := t.zone()
	if zone == nil {
		zone = time.FixedZone("", -12*60*60)
	}
	id := reply.KeptFridge
	if k.Frozen {
		id = reply.KeptFreezer
	}
	return t.lang.Say(id, reply.Data{"Food": reply.Capital(t.keptName(k)), "Date": k.Until.In(zone).Format(time.DateOnly)})
}

// keptButtons are what may be done with kept food. A button just after it was put away carries how it was
// cooked, unless that is known by its bag.
func (t *turn) keptButtons(k kitchen.Kept, cooked *cook.Request) [][]Button {
	reheat := keptData(keptReheat, k.ID)
	if cooked != nil && k.Bag == 0 {
		reheat += "/" + t.packer.pack(*cooked)
	}
	return [][]Button{{
		{Label: t.lang.Say(reply.ButtonReheat, nil), Data: reheat},
		{Label: t.lang.Say(reply.ButtonEaten, nil), Data: keptData(keptEaten, k.ID)},
		{Label: t.lang.Say(reply.ButtonThrown, nil), Data: keptData(keptThrown, k.ID)},
	}}
}

// withKept adds what is in the fridge and freezer to the list of bags, what runs out first on top.
func (t *turn) withKept(m Message) Message {
	kept := t.entry.doc.Clone().Kept
	if len(kept) == 0 {
		return m
	}
	sortKept(kept)
	m.Text = append(m.Text, nil, reply.Line{{Text: t.lang.Say(reply.KeptTitle, reply.Data{"Count": len(kept)}), Style: reply.Strong}})
	const shown = 4 // buttons; the lines are all there
	var buttons []Button
	for i, k := range kept {
		m.Text = append(m.Text, reply.Line{{Text: t.keptLine(k)}})
		if i < shown {
			buttons = append(buttons, Button{Label: t.lang.Say(reply.ButtonKept, reply.Data{"Food": t.keptName(k)}), Data: keptData(keptMore, k.ID)})
		}
	}
	for _, b := range buttons {
		m.Buttons = append(m.Buttons, []Button{b})
	}
	return m
}

// pressKept answers a button about kept food.
func (t *turn) pressKept(ctx context.Context, data string) error {
	verb, number, _ := strings.Cut(data, "/")
	number, packed, _ := strings.Cut(number, "/")
	n, err := strconv.ParseUint(number, 10, 16)
	if err != nil {
		return ErrPacked
	}
	k, ok := t.keptByID(kitchen.KeptID(n))
	if !ok {
		return t.tell(ctx, t.lang.Say(reply.KeptGone, nil), t.lang.Lines(reply.KeptGone, nil))
	}
	switch verb {
	case keptMore:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		_, err := t.send(ctx, Message{Text: reply.Text{{{Text: t.keptLine(k), Style: reply.Strong}}}, Buttons: t.keptButtons(k, nil)})
		return err
	case keptEaten, keptThrown:
		return t.takeKept(ctx, k, verb == keptThrown)
	case keptReheat:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		if r, err := t.packer.unpack(packed); err == nil && packed != "" && r.Food == k.Food {
			s := cook.Stored{Request: r, Frozen: k.Frozen, Kept: max(0, t.in.At.Sub(k.Since)), Pasteurised: true}
			return t.reheat(ctx, s, nil)
		}
		return t.reheatKept(ctx, k)
	}
	return ErrPacked
}

func (t *turn) keptByID(id kitchen.KeptID) (kitchen.Kept, bool) {
	for _, k := range t.entry.doc.Kept {
		if k.ID == id {
			return k, true
		}
	}
	return kitchen.Kept{}, false
}

// takeKept takes kept food off the list; anybody may.
func (t *turn) takeKept(ctx context.Context, k kitchen.Kept, thrown bool) error {
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		_, err := d.TakeKept(k.ID)
		return err
	})
	if errors.Is(err, kitchen.ErrNone) {
		return t.tell(ctx, t.lang.Say(reply.KeptGone, nil), t.lang.Lines(reply.KeptGone, nil))
	}
	if err != nil {
		return err
	}
	id := reply.KeptEaten
	if thrown {
		id = reply.KeptThrown
	}
	text := t.lang.Titled(id, reply.Data{"Food": reply.Capital(t.keptName(k))})
	if err := t.show(ctx, Message{Text: text}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// reheatWords answers "reheat short ribs": of what is kept, else of what is typed. It reports false for
// everything else.
func (t *turn) reheatWords(ctx context.Context, text string) (done bool, err error) {
	s := spaced(text)
	if !contains(s, t.lang.Words(reply.TypedReheat)) {
		return false, nil
	}
	u := t.parsers[t.lang.Tag].Parse(text)
	var kept []kitchen.Kept
	for _, k := range t.entry.doc.Kept {
		fits := u.Food.ID == "" || k.Food == u.Food.ID
		for _, o := range u.Food.Alternatives {
			fits = fits || k.Food == o
		}
		if fits {
			kept = append(kept, k)
		}
	}
	sortKept(kept)
	switch {
	case len(kept) == 1:
		return true, t.reheatKept(ctx, kept[0])
	case len(kept) > 1:
		var buttons [][]Button
		const most = 8
		for _, k := range kept[:min(most, len(kept))] {
			buttons = append(buttons, []Button{{Label: t.keptLine(k), Data: keptData(keptReheat, k.ID)}})
		}
		_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.BagWhich, nil), Buttons: buttons})
		return true, err
	case u.RefusedFood != "" || u.Problem != nil && u.Food.ID != "":
		return false, nil
	case u.Food.ID == "":
		return true, t.say(ctx, t.lang.Lines(reply.ReheatHow, nil))
	}
	told := u
	told.Unplaced, told.Food.Alternatives = t.unread(u.Unplaced), nil
	heard := append(t.lang.Heard(told), t.lang.Say(reply.ReheatTold, nil))
	return true, t.reheat(ctx, cook.Stored{Request: u.Request, Pasteurised: true, Frozen: u.Request.Start == cook.StartFrozen}, heard)
}

// reheatKept warms what is kept, as it was cooked.
func (t *turn) reheatKept(ctx context.Context, k kitchen.Kept) error {
	s := cook.Stored{Frozen: k.Frozen, Kept: max(0, t.in.At.Sub(k.Since)), Pasteurised: true}
	s.Request = cook.Request{Food: k.Food, Pieces: k.Pieces}
	if b, ok := t.entry.doc.Bag(k.Bag); ok && k.Bag != 0 {
		s.Request = b.Request
	} else {
		for _, c := range t.entry.doc.Log {
			if c.Bag == k.Bag && k.Bag != 0 && c.Food == k.Food {
				s.Request.Setpoint, s.Request.HasSetpoint, s.Request.Thickness, s.Request.Doneness = c.Setpoint, c.Setpoint > 0, c.Thickness, c.Doneness
			}
		}
	}
	return t.reheat(ctx, s, nil)
}

// reheat says how to warm something, or why not.
func (t *turn) reheat(ctx context.Context, s cook.Stored, heard []string) error {
	s.Request = t.entry.doc.Settings.Fill(s.Request)
	r, err := t.model.Reheat(s)
	o := reply.Options{Units: t.units, Heard: heard}
	var refusal *cook.Refusal
	if errors.As(err, &refusal) {
		return t.say(ctx, t.lang.Refusal(refusal, o))
	}
	if err != nil {
		return fmt.Errorf("reheat: %w", err)
	}
	if r.Plan.Guessed {
		o.Heard = append(o.Heard, t.lang.Say(reply.ReheatGuess, reply.Data{"L": t.lang.Thickness(r.Plan.Thickness, t.units)}))
	}
	return t.say(ctx, t.lang.Reheat(r, o))
}

// forTomorrow takes up "for tomorrow": what is to be kept must be pasteurised.
func (t *turn) forTomorrow(text string, u phrase.Understood) asked {
	f, ok := t.model.Foods().Food(u.Request.Food)
	if !ok || f.Safety == food.Plant || u.ServeAt != nil || !contains(spaced(text), t.lang.Words(reply.TypedTomorrow)) {
		return t.heard(u)
	}
	u.Unplaced = t.unread(u.Unplaced)
	u.Request.Pasteurised = true
	a := t.heard(u)
	a.heard = append(a.heard, t.lang.Say(reply.KeptFor, nil))
	return a
}

// sortKept orders kept food by what runs out first.
func sortKept(kept []kitchen.Kept) {
	slices.SortStableFunc(kept, func(a, b kitchen.Kept) int { return a.Until.Compare(b.Until) })
}

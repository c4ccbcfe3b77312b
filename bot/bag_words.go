package bot

import (
	"context"
	"strings"
	"time"

	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// bagWords answers words about bags: start, pull, drop, ready, bags. It reports false for everything else.
func (t *turn) bagWords(ctx context.Context, text string, u phrase.Understood) (done bool, err error) {
	switch u.Intent {
	case phrase.IntentStart:
		if u.Food.ID != "" && !t.asksToStart(text) {
			return false, nil
		}
		return t.startTyped(ctx, text)
	case phrase.IntentWater:
		if u.Food.ID != "" {
			return false, nil
		}
		return true, t.toppedUp(ctx)
	case phrase.IntentBags:
		return true, t.bags(ctx)
	case phrase.IntentPull, phrase.IntentDrop, phrase.IntentReady:
		bags := t.matching(u.Food.ID, u.Food.Alternatives)
		if len(bags) == 0 && u.Food.ID != "" {
			return false, nil // "pull" may only be a word about a food
		}
		return true, t.bagVerb(ctx, u.Intent, bags)
	}
	// "in since 17:10" with nothing else: the last plan is in.
	if u.Food.ID == "" && u.RefusedFood == "" && u.Intent == "" && (u.Since != nil || u.Ago > 0) {
		if _, ok := t.entry.base(t.in); ok {
			return t.startTyped(ctx, text)
		}
	}
	return false, nil
}

// toppedUp notes in the bath diary that water was added; the reminders of a long cook count from it.
func (t *turn) toppedUp(ctx context.Context) error {
	if len(t.entry.doc.Running()) == 0 {
		return t.say(ctx, t.lang.Lines(reply.BagNone, nil))
	}
	return t.write(ctx, kitchen.Entry{Kind: kitchen.WaterAdded, At: t.in.At})
}

// asksToStart tells whether a message begins or ends with the words to start, up to three of them: in the
// middle, as in "3 cm, start from frozen", they say something else.
func (t *turn) asksToStart(text string) bool {
	const most = 3
	words := strings.Fields(text)
	for n := 1; n <= min(most, len(words)); n++ {
		for _, part := range [][]string{words[:n], words[len(words)-n:]} {
			u := t.parsers[t.lang.Tag].Parse(strings.Join(part, " "))
			if u.Intent == phrase.IntentStart && u.Food.ID == "" && u.Request.Start == "" {
				return true
			}
		}
	}
	return false
}

// bagVerb does what a word says to the bag that is meant, or asks which.
func (t *turn) bagVerb(ctx context.Context, intent phrase.Intent, bags []kitchen.Bag) error {
	switch {
	case len(bags) == 0:
		return t.say(ctx, t.lang.Lines(reply.BagNone, nil))
	case intent == phrase.IntentReady:
		return t.bags(ctx)
	case len(bags) == 1 && intent == phrase.IntentPull:
		return t.pull(ctx, bags[0])
	case len(bags) == 1:
		return t.dropAsk(ctx, bags[0])
	}
	act := bagPull
	if intent == phrase.IntentDrop {
		act = bagDrop
	}
	const most = 8
	var buttons [][]Button
	for _, b := range bags[:min(most, len(bags))] {
		label := t.lang.Say(reply.BagSince, reply.Data{"Bag": reply.Capital(t.lang.Bag(b)), "State": plain(t.lang.BagState(b, t.bagOptions()))})
		buttons = append(buttons, []Button{{Label: label, Data: bagData(act, b.ID)}})
	}
	_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.BagWhich, nil), Buttons: buttons})
	return err
}

// startTyped starts the bags that were typed, or the plan that was shown last. It reports false when there
// is nothing to start in the text.
func (t *turn) startTyped(ctx context.Context, text string) (done bool, err error) {
	parser := t.parsers[t.lang.Tag]
	var list []toStart
	for _, part := range t.parted(text) {
		u := parser.Parse(part)
		switch {
		case u.RefusedFood != "":
			if r, ok := t.model.Foods().Refused(food.ID(u.RefusedFood)); ok {
				return true, t.say(ctx, t.lang.RefusedFood(r))
			}
		case u.Food.ID == "":
			last, ok := t.entry.base(t.in)
			if !ok {
				if u.Intent != phrase.IntentStart {
					return false, nil
				}
				return true, t.say(ctx, t.lang.Lines(reply.BagNoplan, nil))
			}
			if amended, ok := parser.Amend(last, part); ok {
				last = amended.Request
			}
			u.Request = last
		case u.Problem != nil:
			return true, t.problem(ctx, part, u)
		}
		at, ok := t.startedAt(u)
		if !ok {
			return true, t.askZoneFor(ctx)
		}
		list = append(list, toStart{u.Request, at})
	}
	if len(list) == 0 {
		return false, nil
	}
	t.remember(list[len(list)-1].request)
	return true, t.startBags(ctx, list)
}

// startedAt is when the bag went in: now if nothing was said; false when a time of day was typed and the
// chat has no clock.
func (t *turn) startedAt(u phrase.Understood) (time.Time, bool) {
	if u.Ago > 0 {
		return t.in.At.Add(-u.Ago), true
	}
	at, needsClock := t.since(u)
	if at.IsZero() {
		at = t.in.At
	}
	return at, !needsClock
}

// askZoneFor says that a time of day needs a clock.
func (t *turn) askZoneFor(ctx context.Context) error {
	_, err := t.send(ctx, Message{
		Text:    t.lang.Lines(reply.BagMoveneedzone, nil),
		Buttons: [][]Button{{{Label: t.lang.Say(reply.SettingsButtonClock, nil), Data: string(actSetting) + setZone}}},
	})
	return err
}

// mostParts bounds how many bags one message starts.
const mostParts = 8

// parted cuts "2 ribeyes and the salmon" into a part for each food. What has no food of its own belongs to
// the part before it.
func (t *turn) parted(text string) []string {
	and := map[string]bool{"&": true, "+": true}
	for _, w := range t.lang.Words(reply.TypedAnd) {
		and[w] = true
	}
	parser := t.parsers[t.lang.Tag]
	hasFood := func(words []string) bool {
		u := parser.Parse(strings.Join(words, " "))
		return u.Food.ID != "" || u.RefusedFood != ""
	}
	var parts []string
	var now, next []string
	flush := func() {
		switch {
		case len(next) == 0:
		case len(now) > 0 && hasFood(now) && hasFood(next) && len(parts) < mostParts-1:
			parts = append(parts, strings.Join(now, " "))
			now = next
		default:
			now = append(now, next...)
		}
		next = nil
	}
	for word := range strings.FieldsSeq(text) {
		bare := strings.TrimSuffix(word, ",")
		if and[strings.ToLower(bare)] {
			flush()
			continue
		}
		next = append(next, bare)
		if bare != word {
			flush()
		}
	}
	flush()
	return append(parts, strings.Join(now, " "))
}

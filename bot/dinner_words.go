package bot

import (
	"context"
	"slices"
	"strings"
	"time"

	"bagwatch/internal/dinner"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// dinnerCommand answers /dinner.
func (t *turn) dinnerCommand(ctx context.Context, rest string) error {
	if rest == "" {
		return t.showDinner(ctx)
	}
	if done, err := t.dinnerChange(ctx, rest, t.parsers[t.lang.Tag].Parse(rest)); done || err != nil {
		return err
	}
	return t.dinnerTyped(ctx, t.lang.Say(reply.TypedServe, nil)+" "+rest)
}

// dinnerWords answers words about a dinner; it reports false for everything else.
func (t *turn) dinnerWords(ctx context.Context, text string, u phrase.Understood) (done bool, err error) {
	if u.Since != nil || u.Ago > 0 {
		return false, nil
	}
	if done, err := t.dinnerChange(ctx, text, u); done || err != nil {
		return done, err
	}
	switch u.Intent {
	case "", phrase.IntentAsk, phrase.IntentDinner:
	default:
		return false, nil
	}
	timed := u.ServeAt != nil || u.ServeIn > 0
	switch {
	case u.Food.ID != "" && timed:
		return true, t.dinnerTyped(ctx, text)
	case u.Intent == phrase.IntentDinner && u.Food.ID == "":
		return true, t.showDinner(ctx)
	}
	return false, nil
}

// dinnerChange answers what is said about a dinner that there is.
func (t *turn) dinnerChange(ctx context.Context, text string, u phrase.Understood) (done bool, err error) {
	n := t.entry.doc.Dinner
	going := t.entry.doc.DinnerGoing(t.in.At)
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" ,.;:!?\n\t", r) })
	said := func(id reply.ID) bool {
		return slices.ContainsFunc(t.lang.Words(id), func(w string) bool { return slices.Contains(words, w) })
	}
	if rest, ok := t.afterMine(text); ok && going {
		return true, t.takeTyped(ctx, rest)
	}
	switch {
	case going && said(reply.TypedLate):
		shift := kitchen.Shift{Late: u.Request.Span}
		if said(reply.TypedGuests) {
			shift = kitchen.Shift{Guests: u.Request.Span}
		}
		if u.Request.Span == 0 {
			return true, t.say(ctx, t.lang.Lines(reply.DinnerHowlate, nil))
		}
		return true, t.shiftDinner(ctx, shift)
	case u.Food.ID != "" || u.RefusedFood != "":
		return false, nil
	case said(reply.TypedLate) && u.Request.Span > 0:
		return true, t.say(ctx, t.lang.Lines(reply.DinnerNone, nil))
	case !n.Some():
		return false, nil
	}
	at, ok := t.servedAt(u)
	if c, bare := bareClock(text); bare && !ok && t.zone() != nil && t.in.ReplyTo != 0 && t.in.ReplyTo == MessageID(n.Card.Message) {
		at, ok = nextAt(c, t.in.At.In(t.zone())), true
	}
	switch {
	case !ok:
		return false, nil
	case going:
		return true, t.shiftDinner(ctx, kitchen.Shift{Serve: at})
	case !n.Going.IsZero():
		return false, nil // that one is over
	}
	n.Serve = at
	return true, t.propose(ctx, n, nil)
}

// afterMine reads "mine" and what follows it.
func (t *turn) afterMine(text string) (rest string, ok bool) {
	lower := strings.ToLower(strings.TrimSpace(text))
	for _, w := range t.lang.Words(reply.TypedMine) {
		if rest, ok := strings.CutPrefix(lower, w); ok && (rest == "" || strings.ContainsRune(" ,.:!", rune(rest[0]))) {
			return strings.Trim(rest, " ,.:!"), true
		}
	}
	return "", false
}

// serveStep is what "in 3 hours" is rounded to. House rule.
const serveStep = 5 * time.Minute

// servedAt is when dinner is by what was typed; false when nothing was said, or the chat has no clock.
func (t *turn) servedAt(u phrase.Understood) (time.Time, bool) {
	zone := t.zone()
	switch {
	case zone == nil:
		return time.Time{}, false
	case u.ServeAt != nil:
		return nextAt(*u.ServeAt, t.in.At.In(zone)), true
	case u.ServeIn > 0:
		return t.in.At.Add(u.ServeIn).Round(serveStep).In(zone), true
	}
	return time.Time{}, false
}

// nextAt is the next time from now on at which the clock shows c.
func nextAt(c phrase.ClockTime, now time.Time) time.Time {
	var best time.Time
	hours := []int{c.Hour}
	if c.Either {
		hours = append(hours, (c.Hour+12)%24)
	}
	for _, h := range hours {
		for days := range 2 {
			at := time.Date(now.Year(), now.Month(), now.Day()+days, h, c.Minute, 0, 0, now.Location())
			if !at.Before(now) && (best.IsZero() || at.Before(best)) {
				best = at
			}
		}
	}
	return best
}

// dinnerTyped plans the dinner that was typed and proposes it.
func (t *turn) dinnerTyped(ctx context.Context, text string) error {
	if t.entry.doc.DinnerGoing(t.in.At) {
		return t.otherDinner(ctx)
	}
	if t.zone() == nil {
		_, err := t.send(ctx, Message{
			Text:    t.lang.Lines(reply.DinnerZone, nil),
			Buttons: [][]Button{{{Label: t.lang.Say(reply.SettingsButtonClock, nil), Data: string(actSetting) + setZone}}},
		})
		return err
	}
	settings := t.entry.doc.Settings
	n := kitchen.Dinner{Baths: 1, Litres: settings.Litres, Watts: settings.Watts, By: t.whoActs()}
	text = t.kitWords(text, &n)
	var heard []string
	for _, part := range t.parted(strings.NewReplacer("\n", ", ", ";", ", ", ",", ", ").Replace(text)) {
		u := t.parsers[t.lang.Tag].Parse(part)
		if at, ok := t.servedAt(u); ok {
			n.Serve = at
		}
		switch {
		case u.RefusedFood != "":
			if r, ok := t.model.Foods().Refused(food.ID(u.RefusedFood)); ok {
				return t.say(ctx, t.lang.RefusedFood(r))
			}
		case u.Food.ID == "" && u.Problem != nil && u.Problem.Typed != "":
			return t.problem(ctx, part, u)
		case u.Food.ID == "":
			continue
		case u.Problem != nil:
			return t.problem(ctx, part, u)
		}
		if slices.ContainsFunc(u.Unplaced, func(k phrase.Token) bool { return k.Why == phrase.WhySecond }) && len(n.Dishes) == dinner.MostDishes-1 {
			return t.say(ctx, t.lang.Lines(reply.DinnerMany, reply.Data{"Count": dinner.MostDishes}))
		}
		filled := settings.Fill(u.Request)
		if filled.AtRisk && !u.Request.AtRisk && len(n.Dishes) == 0 {
			heard = append(heard, t.lang.Say(reply.BotForatrisk, nil))
		}
		heard = append(heard, t.lang.Heard(u)...)
		n.Dishes = append(n.Dishes, filled)
	}
	if len(n.Dishes) == 0 || n.Serve.IsZero() {
		return t.askDinner(ctx)
	}
	return t.propose(ctx, n, heard)
}

// kitWords takes what is said about the kitchen out of the text: "no ice", "2 baths".
func (t *turn) kitWords(text string, n *kitchen.Dinner) string {
	for _, w := range t.lang.Words(reply.TypedNoice) {
		if len(strings.ToLower(text)) != len(text) {
			break // letters that grow; what follows would be cut elsewhere
		}
		if i := strings.Index(strings.ToLower(text), w); i >= 0 {
			n.NoIce, text = true, text[:i]+text[i+len(w):]
		}
	}
	fields := strings.Fields(text)
	for i := 1; i < len(fields); i++ {
		word := strings.ToLower(strings.Trim(fields[i], ",.;:"))
		count := fields[i-1]
		if len(count) == 1 && count >= "1" && count <= "3" && slices.Contains(t.lang.Words(reply.TypedBaths), word) {
			n.Baths = int(count[0] - '0')
			return strings.Join(slices.Delete(fields, i-1, i+1), " ")
		}
	}
	return text
}

// askDinner says how a dinner is asked for.
func (t *turn) askDinner(ctx context.Context) error {
	if t.chat.Group {
		_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.DinnerHowgroup, nil), AskReply: true})
		return err
	}
	return t.say(ctx, t.lang.Lines(reply.DinnerHow, nil))
}

// otherDinner says that a dinner is going already.
func (t *turn) otherDinner(ctx context.Context) error {
	n := t.entry.doc.Dinner
	s, err := t.schedule(n, t.dinnerZone())
	serve := n.Serve.In(t.dinnerZone())
	if err == nil {
		serve = s.Serve
	}
	_, err = t.send(ctx, Message{
		Text: t.lang.Lines(reply.DinnerOther, reply.Data{"At": t.lang.Clock(serve)}),
		Buttons: [][]Button{{
			{Label: t.lang.Say(reply.ButtonDinnerShow, nil), Data: dinnerData(dinnerShow, dinnerStamp(n), "")},
			{Label: t.lang.Say(reply.ButtonDinnerEnd, nil), Data: dinnerData(dinnerEnd, dinnerStamp(n), "")},
		}},
	})
	return err
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

func (p PersonID) kept() kitchen.PersonID { return kitchen.PersonID(p) }

// text answers a message: a command, a value that was asked for, or something to cook. In a group the
// bot keeps out of what is not meant for it.
func (t *turn) text(ctx context.Context) error {
	text := strings.TrimSpace(t.in.Text)
	if strings.HasPrefix(text, "/") {
		name, rest, _ := strings.Cut(text[1:], " ")
		if head, tail, ok := strings.Cut(name, "\n"); ok { // "/cook" on a line of its own
			name, rest = head, tail+" "+rest
		}
		return t.command(ctx, strings.ToLower(name), strings.TrimSpace(rest))
	}
	if t.chat.Group && !t.in.ToBot {
		return nil
	}
	if done, err := t.awaited(ctx, text); done || err != nil {
		return err
	}
	return t.words(ctx, text)
}

// words answers words that are no command.
func (t *turn) words(ctx context.Context, text string) error {
	if utf8.RuneCountInString(text) > phrase.MaxRunes {
		text = string([]rune(text)[:phrase.MaxRunes+1]) // enough to be told that it is too long
	}
	u := t.parsers[t.lang.Tag].Parse(text)
	if u.RefusedFood != "" {
		if r, ok := t.model.Foods().Refused(food.ID(u.RefusedFood)); ok {
			return t.say(ctx, t.lang.RefusedFood(r))
		}
	}
	for _, answer := range [...]func() (bool, error){
		func() (bool, error) { return t.diaryWords(ctx, text) },
		func() (bool, error) { return t.reheatWords(ctx, text) },
		func() (bool, error) { return t.safeWords(ctx, text, u) },
		func() (bool, error) { return t.dinnerWords(ctx, text, u) },
		func() (bool, error) { return t.bagWords(ctx, text, u) },
	} {
		if done, err := answer(); done || err != nil {
			return err
		}
	}
	if u.Intent == phrase.IntentChill {
		return t.chill(ctx, text)
	}
	if u.Food.ID == "" {
		if last, ok := t.entry.base(t.in); ok {
			if amended, ok := t.parsers[t.lang.Tag].Amend(last, text); ok {
				return t.answer(ctx, t.heard(amended))
			}
			if u.Problem != nil && u.Problem.ID == phrase.ProblemNoFood && u.Problem.Typed == "" && u.Request != (cook.Request{}) {
				again := t.heard(u) // it is so already: the answer again, with what was left out
				again.request = last
				return t.answer(ctx, again)
			}
		}
		if done, err := t.intent(ctx, u); done || err != nil {
			return err
		}
	}
	if u.Problem == nil && u.Food.ID == "" { // words for what is not about a food, and not offered
		u.Problem = &phrase.Problem{ID: phrase.ProblemNoFood}
	}
	if u.Problem != nil {
		return t.problem(ctx, text, u)
	}
	return t.answer(ctx, t.forTomorrow(text, u))
}

// heard turns what was understood into a request with all that is said beside its answer.
func (t *turn) heard(u phrase.Understood) asked {
	a := asked{request: u.Request, heard: t.lang.Heard(u), others: u.Food.Alternatives}
	if len(a.others) > 0 { // they are buttons
		brief := u
		brief.Food.Alternatives = nil
		a.heard = t.lang.Heard(brief)
	}
	a.in, a.needs = t.since(u)
	if a.needs {
		a.heard = append(a.heard, t.lang.Say(reply.SettingsNeedclock, nil))
	}
	return a
}

// since is when the bag went in by what was typed, in the chat's zone; the zero time when nothing was
// said or the chat has no clock to read a time of day by.
func (t *turn) since(u phrase.Understood) (at time.Time, needsClock bool) {
	zone := t.zone()
	switch {
	case u.Ago > 0 && zone != nil:
		return t.in.At.Add(-u.Ago).In(zone), false
	case u.Since == nil:
		return time.Time{}, false
	case zone == nil:
		return time.Time{}, true
	}
	return lastAt(*u.Since, t.in.At.In(zone)), false
}

// lastAt is the last time before now at which the clock showed c.
func lastAt(c phrase.ClockTime, now time.Time) time.Time {
	best := time.Time{}
	hours := []int{c.Hour}
	if c.Either {
		hours = append(hours, (c.Hour+12)%24)
	}
	for _, h := range hours {
		for _, days := range []int{0, -1} {
			at := time.Date(now.Year(), now.Month(), now.Day()+days, h, c.Minute, 0, 0, now.Location())
			if !at.After(now) && at.After(best) {
				best = at
			}
		}
	}
	return best
}

// zone is the chat's clock, or nil when it has none.
func (t *turn) zone() *time.Location {
	name := t.entry.doc.Settings.Zone
	if name == "" {
		return nil
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.log.Error("zone not loaded", "chat", t.chat.ID, "zone", name, "error", err)
		return nil
	}
	return zone
}

// intent answers words that ask for something other than a plan.
func (t *turn) intent(ctx context.Context, u phrase.Understood) (done bool, err error) {
	switch u.Intent {
	case phrase.IntentHelp:
		return true, t.help(ctx)
	case phrase.IntentFoods:
		return true, t.foodGroups(ctx)
	case phrase.IntentSettings:
		return true, t.settings(ctx, "")
	case phrase.IntentCancel:
		return true, t.cancel(ctx)
	}
	return false, nil
}

// problem says why there is no answer and what to send instead.
func (t *turn) problem(ctx context.Context, text string, u phrase.Understood) error {
	t.counts.unread.Add(1)
	m := Message{Text: t.lang.Problem(*u.Problem)}
	switch {
	case u.Problem.ID == phrase.ProblemNoFood && len(u.Problem.Suggestions) > 0:
		var buttons []Button
		for _, id := range u.Problem.Suggestions {
			r := u.Request
			r.Food = id
			buttons = append(buttons, Button{Label: reply.Capital(t.lang.FoodName(id, 1)), Data: t.packed(actPlan, r)})
		}
		m.Buttons = rows(buttons)
	case u.Problem.ID == phrase.ProblemNoFood && u.Request != (cook.Request{}) && u.Problem.Typed == "":
		m.Text = t.lang.Lines(reply.BotNolast, reply.Data{"Typed": reply.Echo(text)})
	case u.Problem.ID == phrase.ProblemNoFood:
		m.Buttons = [][]Button{{
			{Label: t.lang.Say(reply.ButtonFoods, nil), Data: string(actFoods)},
			{Label: t.lang.Say(reply.ButtonHelp, nil), Data: string(actHelp)},
		}}
	}
	_, err := t.send(ctx, m)
	return err
}

// edited answers an edited message again, in the same place, if it was the person's last request; what
// lies further back is left as it was answered.
func (t *turn) edited(ctx context.Context) error {
	g := t.entry.person(t.in.From.ID, t.in.At)
	if g.asked == 0 || g.asked != t.in.Message {
		return nil
	}
	text := strings.TrimSpace(t.in.Text)
	if strings.HasPrefix(text, "/") {
		name, rest, _ := strings.Cut(text[1:], " ")
		if !strings.EqualFold(name, cmdCook) {
			return nil
		}
		text = rest
	}
	u := t.parsers[t.lang.Tag].Parse(text)
	if last, ok := t.entry.doc.Last(t.in.From.ID.kept(), t.in.At); ok && u.Food.ID == "" {
		u, _ = t.parsers[t.lang.Tag].Amend(last, text)
	}
	if u.Problem != nil || u.RefusedFood != "" {
		return nil
	}
	p, err := t.plan(t.heard(u))
	if err != nil {
		return err
	}
	t.remember(p.request)
	t.entry.sent(g.answered, p.request)
	if err := t.out.Edit(ctx, t.chat, g.answered, p.message); err != nil && !errors.Is(err, ErrLost) {
		return fmt.Errorf("edit: %w", err)
	}
	return nil
}

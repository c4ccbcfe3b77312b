package bot

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// bagOptions are how the chat reads about its bags.
func (t *turn) bagOptions() reply.BagOptions {
	return reply.BagOptions{Units: t.units, Now: t.in.At, Zone: t.zone(), Shared: t.chat.Group}
}

// who is the person as the chat's document names them.
func (t *turn) whoActs() kitchen.Who {
	return kitchen.Who{ID: t.in.From.ID.kept(), Name: reply.Echo(t.in.From.Name)}
}

// actor adds whether the person runs the chat.
func (t *turn) actor(ctx context.Context) (kitchen.Actor, error) {
	admin, err := t.isAdmin(ctx)
	return kitchen.Actor{Who: t.whoActs(), Admin: admin}, err
}

// minuteBase is the base in which minutes since 1970 stand in a button.
const minuteBase = 36

// startData is the data of a button that starts a bag: now, or at the time that was said.
func (t *turn) startData(r cook.Request, in time.Time) string {
	data := t.packed(actStart, r)
	if !in.IsZero() {
		data += "." + strconv.FormatInt(in.Unix()/60, minuteBase)
	}
	return data
}

// toStart is a bag that is to be started.
type toStart struct {
	request cook.Request
	at      time.Time
}

// sameStart is within what span the same person starting the same again is taken for one start: a button
// pressed twice. House rule.
const sameStart = 30 * time.Second

// startBags starts bags, all or none, and says so in one message that is never edited.
func (t *turn) startBags(ctx context.Context, list []toStart) error {
	var bags []kitchen.Bag
	for _, s := range list {
		plan, err := t.model.Plan(t.entry.doc.Settings.Fill(s.request))
		var refusal *cook.Refusal
		if errors.As(err, &refusal) {
			return t.notStarted(ctx, s.request, refusal)
		}
		if err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		b, err := kitchen.NewBag(plan, s.at, t.whoActs(), "")
		if err != nil {
			return err
		}
		bags = append(bags, b)
	}
	var started []kitchen.Bag
	again := false
	repeated, err := t.change(ctx, func(d *kitchen.Document) error {
		started, again = started[:0], false
		t.settleIn(d)
		for _, b := range bags {
			if old, ok := sameBag(*d, b); ok && len(bags) == 1 {
				started, again = append(started, old), true
				continue
			}
			b, err := d.StartBag(b, t.in.At)
			if err != nil {
				return err
			}
			started = append(started, b)
		}
		return t.newcomers(d, started)
	})
	if err != nil {
		return err
	}
	if repeated { // delivered twice: said again
		for _, b := range bags {
			if old, ok := sameBag(t.entry.doc, b); ok {
				started = append(started, old)
			}
		}
	}
	t.member = t.chat.Group
	if again {
		return t.tell(ctx, t.lang.Say(reply.BagRepeated, nil), t.lang.Lines(reply.BagRepeated, nil))
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	return t.tellStarted(ctx, started)
}

// settleIn keeps in a chat's settings what its news needs and nobody chose: news comes without a message to
// take a person's language from. A kitchen hears it in the language its first bag was started in.
func (t *turn) settleIn(d *kitchen.Document) {
	if d.Settings.Language == "" && t.lang.Tag != reply.Fallback {
		d.Settings.Language = t.lang.Tag
	}
	if !t.chat.Group && d.Settings.Units == kitchen.UnitsUnset && t.units == reply.Imperial {
		d.Settings.Units = kitchen.Imperial
	}
}

// sameBag finds a bag in the bath that the same person started as the same thing at about the same time.
func sameBag(d kitchen.Document, b kitchen.Bag) (kitchen.Bag, bool) {
	for _, o := range d.Running() {
		if o.Starter.ID == b.Starter.ID && o.Request == b.Request && o.Started.Sub(b.Started).Abs() <= sameStart {
			return o, true
		}
	}
	return kitchen.Bag{}, false
}

// tellStarted says what went in and brings the list up to date.
func (t *turn) tellStarted(ctx context.Context, bags []kitchen.Bag) error {
	o := t.bagOptions()
	var text reply.Text
	var buttons []Button
	for i, b := range bags {
		if i > 0 {
			text = append(text, nil)
		}
		text = append(text, t.lang.Started(b, o)...)
		buttons = append(buttons, t.pullButton(b, len(bags) == 1))
	}
	if line := t.lang.Conflict(t.entry.doc, o); line != "" {
		text = append(text, nil, reply.Line{{Text: line}})
	}
	if o.Zone == nil && t.entry.doc.LastBag == kitchen.BagID(len(bags)) {
		text = append(text, nil, reply.Line{{Text: t.lang.Say(reply.BagZone, nil)}})
	}
	buttons = append(buttons, Button{Label: t.lang.Say(reply.ButtonBags, nil), Data: string(actBags)})
	if _, err := t.send(ctx, Message{Text: text, Buttons: rows(buttons)}); err != nil {
		return err
	}
	return t.refreshCard(ctx, t.chat.Group)
}

// notStarted says why a rule keeps a bag from being started, with what passes.
func (t *turn) notStarted(ctx context.Context, r cook.Request, refusal *cook.Refusal) error {
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	text := t.lang.Refusal(refusal, reply.Options{Units: t.units})
	reason := t.lang.Say(reply.BagRefused, reply.Data{"Reason": text[0].String()})
	text[0] = reply.Line{{Text: reason, Style: reply.Strong}}
	_, err := t.send(ctx, Message{Text: text, Buttons: t.refusalButtons(asked{request: r}, refusal)})
	return err
}

func (t *turn) pullButton(b kitchen.Bag, alone bool) Button {
	label := t.lang.Say(reply.ButtonPull, nil)
	if !alone {
		label = t.lang.Say(reply.ButtonPullbag, reply.Data{"Bag": t.lang.Bag(b)})
	}
	return Button{Label: label, Data: bagData(bagPull, b.ID)}
}

// The verbs of bag buttons besides pull. Only append.
const (
	bagUndo     bagVerb = "undo"
	bagMore     bagVerb = "more" // what else can be done with it
	bagMovedTo  bagVerb = "at."  // + minute: it went in then
	bagMoveAsk  bagVerb = "when" // asks when it went in
	bagRename   bagVerb = "name" // asks for a name
	bagDrop     bagVerb = "drop" // asks whether to drop it
	bagDropSure bagVerb = "gone" // drops it
)

// matching are the bags in the bath of a food, or all when none is named.
func (t *turn) matching(id food.ID, others []food.ID) []kitchen.Bag {
	var out []kitchen.Bag
	for _, b := range t.entry.doc.Running() {
		fits := id == "" || b.Request.Food == id
		for _, o := range others {
			fits = fits || b.Request.Food == o
		}
		if fits {
			out = append(out, b)
		}
	}
	return out
}

// bagByID finds a bag in this chat's document.
func (t *turn) bagByID(id kitchen.BagID) (kitchen.Bag, error) {
	b, ok := t.entry.doc.Bag(id)
	if !ok {
		return kitchen.Bag{}, kitchen.ErrNoBag
	}
	return b, nil
}

// pressStart starts the bag of a plan's button.
func (t *turn) pressStart(ctx context.Context, data string) error {
	packed, minute, timed := strings.Cut(data, ".")
	r, err := t.packer.unpack(packed)
	if err != nil {
		return err
	}
	at := t.in.At
	if timed {
		if at, err = minuteTime(minute); err != nil {
			return err
		}
	}
	return t.startBags(ctx, []toStart{{r, at}})
}

func minuteTime(s string) (time.Time, error) {
	n, err := strconv.ParseInt(s, minuteBase, 64)
	if err != nil || n < 0 || n > math.MaxInt32*2 {
		return time.Time{}, ErrPacked
	}
	return time.Unix(n*60, 0), nil
}

// pressBags brings the pressed list up to date, or posts one.
func (t *turn) pressBags(ctx context.Context) error {
	if t.entry.doc.Card.Message != 0 && MessageID(t.entry.doc.Card.Message) == t.in.Message {
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		return t.refreshCard(ctx, false)
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	return t.bags(ctx)
}

// pressBag answers a button about one bag.
func (t *turn) pressBag(ctx context.Context, data string) error {
	verb, id, ok := parseBagData(data)
	if !ok {
		return ErrPacked
	}
	b, err := t.bagByID(id)
	if err != nil {
		return err
	}
	switch verb {
	case bagPull:
		return t.pull(ctx, b)
	case bagUndo:
		return t.undo(ctx, b)
	case bagMore:
		return t.more(ctx, b)
	case bagMoveAsk, bagRename:
		return t.askBag(ctx, verb, b)
	case bagDrop:
		return t.dropAsk(ctx, b)
	case bagDropSure:
		return t.drop(ctx, b)
	case bagSafe, bagRisk:
		q := t.bagQuestion(b)
		q.atRisk = verb == bagRisk
		return t.answerSafe(ctx, q)
	case bagChill:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		return t.answerChill(ctx, t.bagQuestion(b))
	}
	for _, v := range [...]bagVerb{bagFridge, bagFrozen} {
		if minute, ok := strings.CutPrefix(string(verb), string(v)); ok {
			return t.pressKeepBag(ctx, b, minute, v == bagFrozen)
		}
	}
	if reading, ok := strings.CutPrefix(string(verb), string(bagCore)); ok {
		return t.pressCore(ctx, b, reading)
	}
	if minute, ok := strings.CutPrefix(string(verb), string(bagMovedTo)); ok {
		at, err := minuteTime(minute)
		if err != nil {
			return err
		}
		return t.move(ctx, b, at)
	}
	return ErrPacked
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// plain gives a sentence of the renderers without the marks of its styles, for a button.
func plain(s string) string { return reply.Strip(s) }

// pull takes a bag out; anybody may. The group is told, with Undo.
func (t *turn) pull(ctx context.Context, b kitchen.Bag) error {
	before := b
	var after kitchen.Bag
	repeated, err := t.change(ctx, func(d *kitchen.Document) error {
		var err error
		after, err = d.Pull(b.ID, t.whoActs(), t.in.At)
		return err
	})
	switch {
	case errors.Is(err, kitchen.ErrClosed):
		return t.wasFirst(ctx, b.ID)
	case err != nil:
		return err
	case repeated:
		if after, err = t.bagByID(b.ID); err != nil {
			return err
		}
	}
	t.member = t.chat.Group
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	id := reply.BagPulledown
	if t.chat.Group {
		id = reply.BagPulled
	}
	text := t.lang.Titled(id, reply.Data{"Who": t.lang.Who(after.ClosedBy), "Bag": t.lang.Bag(after)})
	text = append(text, t.afterPull(before, after)...)
	buttons := []Button{{Label: t.lang.Say(reply.ButtonUndo, nil), Data: bagData(bagUndo, b.ID)}}
	if after.PasteurisedBy(after.Closed) {
		buttons = append(buttons, Button{Label: t.lang.Say(reply.ButtonChill, nil), Data: bagData(bagChill, b.ID)})
	}
	layout := [][]Button{buttons}
	if state := before.StateAt(after.Closed); state != kitchen.Warming && state != kitchen.Doubtful {
		layout = append(layout, t.ratingButtons("", b.ID))
	}
	if _, err := t.send(ctx, Message{Text: text, Buttons: layout}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// afterPull is what to know of a bag that was just pulled, what may hurt first.
func (t *turn) afterPull(before, after kitchen.Bag) reply.Text {
	var text reply.Text
	o := t.bagOptions()
	state := before.StateAt(after.Closed)
	eat := state != kitchen.Warming && state != kitchen.Doubtful
	raw := after.Times.Serve != cook.ServePlant && !after.PasteurisedBy(after.Closed)
	add := func(id reply.ID, data reply.Data) { text = append(text, t.lang.Lines(id, data)...) }
	if state == kitchen.Warming && after.Times.Serve != cook.ServePasteurised {
		o.Now = after.Closed
		add(reply.BagNotready, reply.Data{"State": t.lang.BagState(before, o)})
	}
	switch {
	case state == kitchen.Doubtful:
		add(reply.BagDoubtfulpull, nil)
	case raw && after.Times.Serve == cook.ServePasteurised:
		eat = false
		add(reply.BagMustpasteurise, nil)
	case raw && after.Closed.After(after.Times.Limit):
		eat = false
		add(reply.BagOverlimit, nil)
	case raw:
		add(reply.BagNotpasteurised, nil)
	}
	if state == kitchen.Warming && after.Times.Serve == cook.ServePasteurised {
		o.Now = after.Closed
		add(reply.BagNotready, reply.Data{"State": t.lang.BagState(before, o)})
	}
	if plan, err := t.model.Plan(after.Request); err == nil && eat {
		if line := t.lang.Then(plan); line != "" {
			text = append(text, reply.Line{{Text: line}})
		}
	}
	return text
}

// wasFirst says who closed the bag already.
func (t *turn) wasFirst(ctx context.Context, id kitchen.BagID) error {
	b, ok := t.entry.doc.Bag(id)
	if !ok {
		return kitchen.ErrNoBag
	}
	text := t.lang.Say(reply.BagFirst, reply.Data{"Who": t.lang.Who(b.ClosedBy)})
	return t.tell(ctx, text, reply.Text{{{Text: text}}})
}

// undo puts a pulled bag back.
func (t *turn) undo(ctx context.Context, b kitchen.Bag) error {
	_, err := t.change(ctx, func(d *kitchen.Document) error {
		var err error
		b, err = d.UndoPull(b.ID, t.in.At)
		return err
	})
	if err != nil {
		return err
	}
	id := reply.BagUndoneown
	if t.chat.Group {
		id = reply.BagUndone
	}
	text := t.lang.Titled(id, reply.Data{"Who": t.lang.Who(t.whoActs()), "Bag": t.lang.Bag(b)})
	text = append(text, t.lang.StateLine(b, t.bagOptions()))
	if err := t.show(ctx, Message{Text: text, Buttons: [][]Button{{t.pullButton(b, true)}}}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// more shows what else can be done with a bag, in a message of its own.
func (t *turn) more(ctx context.Context, b kitchen.Bag) error {
	if !b.Running() {
		return t.wasFirst(ctx, b.ID)
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	shift := func(id reply.ID, by time.Duration) Button {
		at := b.Started.Add(by).Unix() / 60
		return Button{
			Label: t.lang.Say(id, reply.Data{"Span": t.lang.Span(by.Abs())}),
			Data:  bagData(bagMovedTo+bagVerb(strconv.FormatInt(at, minuteBase)), b.ID),
		}
	}
	o := t.bagOptions()
	_, err := t.send(ctx, Message{
		Text: t.lang.Started(b, o),
		Buttons: [][]Button{
			{shift(reply.ButtonEarlier, -5*time.Minute), shift(reply.ButtonLater, 5*time.Minute), {Label: t.lang.Say(reply.ButtonMove, nil), Data: bagData(bagMoveAsk, b.ID)}},
			{{Label: t.lang.Say(reply.ButtonRename, nil), Data: bagData(bagRename, b.ID)}, {Label: t.lang.Say(reply.ButtonDrop, nil), Data: bagData(bagDrop, b.ID)}},
		},
	})
	return err
}

// mine tells whether the person may manage the bag, before they are asked for anything.
func (t *turn) mine(ctx context.Context, b kitchen.Bag) error {
	by, err := t.actor(ctx)
	if err == nil && !b.MayManage(by) {
		err = kitchen.ErrNotYours
	}
	return err
}

// askBag asks for a time or a name and waits for it.
func (t *turn) askBag(ctx context.Context, act bagVerb, b kitchen.Bag) error {
	if err := t.mine(ctx, b); err != nil {
		return err
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	id := reply.BagMovewhen
	if act == bagRename {
		id = reply.BagRenamewhat
	}
	if _, err := t.send(ctx, Message{Text: t.lang.Lines(id, reply.Data{"Bag": t.lang.Bag(b)}), AskReply: true}); err != nil {
		return err
	}
	t.entry.person(t.in.From.ID, t.in.At).waiting = string(act) + ":" + strconv.Itoa(int(b.ID))
	return nil
}

// awaitedBag takes the time or the name that was asked for.
func (t *turn) awaitedBag(ctx context.Context, act, id, text string) error {
	g := t.entry.person(t.in.From.ID, t.in.At)
	n, _ := strconv.ParseUint(id, 10, 16) // we wrote it
	b, err := t.bagByID(kitchen.BagID(n))
	if err != nil {
		g.waiting = ""
		return err
	}
	if act == string(bagRename) {
		g.waiting = ""
		return t.rename(ctx, b, text)
	}
	u := t.parsers[t.lang.Tag].Parse(text)
	if c, ok := bareClock(text); ok && u.Since == nil {
		u.Since = &c
	}
	if u.Since == nil && u.Ago == 0 {
		return t.say(ctx, t.lang.Lines(reply.BagMoveunread, reply.Data{"Typed": reply.Echo(text)}))
	}
	at, ok := t.startedAt(u)
	if !ok {
		return t.askZoneFor(ctx)
	}
	g.waiting = ""
	return t.move(ctx, b, at)
}

// bareClock reads "17:10" alone: after being asked when, no word needs to say so.
func bareClock(text string) (phrase.ClockTime, bool) {
	text = strings.TrimSpace(text)
	for _, layout := range [...]string{"15:04", "15.04", "3:04pm", "3:04 pm"} {
		if at, err := time.Parse(layout, strings.ToLower(text)); err == nil {
			return phrase.ClockTime{Hour: at.Hour(), Minute: at.Minute()}, true
		}
	}
	return phrase.ClockTime{}, false
}

// move corrects when a bag went in.
func (t *turn) move(ctx context.Context, b kitchen.Bag, at time.Time) error {
	by, err := t.actor(ctx)
	if err != nil {
		return err
	}
	return t.manage(ctx, reply.BagMoved, b.ID, func(d *kitchen.Document) (kitchen.Bag, error) {
		b, err := d.Move(b.ID, at, by, t.in.At)
		if err != nil || len(d.Diary) == 0 {
			return b, err
		}
		if _, err := t.follow(d); err != nil { // it lived through another part of the diary
			return b, err
		}
		b, _ = d.Bag(b.ID)
		return b, nil
	})
}

// rename gives a bag a name of its own.
func (t *turn) rename(ctx context.Context, b kitchen.Bag, name string) error {
	by, err := t.actor(ctx)
	if err != nil {
		return err
	}
	return t.manage(ctx, reply.BagRenamed, b.ID, func(d *kitchen.Document) (kitchen.Bag, error) { return d.Rename(b.ID, reply.Echo(name), by) })
}

// dropAsk asks before a bag is dropped: nobody would be told of it any more.
func (t *turn) dropAsk(ctx context.Context, b kitchen.Bag) error {
	if err := t.mine(ctx, b); err != nil {
		return err
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	_, err := t.send(ctx, Message{
		Text:    t.lang.Lines(reply.BagDropsure, reply.Data{"Bag": t.lang.Bag(b)}),
		Buttons: [][]Button{{{Label: t.lang.Say(reply.ButtonDropsure, nil), Data: bagData(bagDropSure, b.ID)}}},
	})
	return err
}

// drop stops watching a bag.
func (t *turn) drop(ctx context.Context, b kitchen.Bag) error {
	by, err := t.actor(ctx)
	if err != nil {
		return err
	}
	id := reply.BagDropped
	if t.chat.Group {
		id = reply.BagDroppedby
	}
	return t.manage(ctx, id, b.ID, func(d *kitchen.Document) (kitchen.Bag, error) { return d.Drop(b.ID, by, t.in.At) })
}

// manage commits a change of a bag that is for its starter and admins, and says it.
func (t *turn) manage(ctx context.Context, id reply.ID, bag kitchen.BagID, f func(*kitchen.Document) (kitchen.Bag, error)) error {
	var b kitchen.Bag
	repeated, err := t.change(ctx, func(d *kitchen.Document) error {
		var err error
		b, err = f(d)
		return err
	})
	if errors.Is(err, kitchen.ErrClosed) {
		return t.wasFirst(ctx, bag)
	}
	if err != nil {
		return err
	}
	if repeated {
		if b, err = t.bagByID(bag); err != nil {
			return err
		}
	}
	t.member = t.chat.Group
	text := t.lang.Titled(id, reply.Data{
		"Bag": t.lang.Bag(b), "State": t.lang.BagState(b, t.bagOptions()), "Who": t.lang.Who(t.whoActs()),
	})
	if err := t.show(ctx, Message{Text: text}); err != nil {
		return err
	}
	return t.refreshCard(ctx, false)
}

// noteGroup notes in a person's own document that a group's names them, so that being forgotten reaches
// it. It runs without any lock held.
func (b *Bot) noteGroup(ctx context.Context, in Incoming) {
	own := Chat{ID: ChatID(in.From.ID)}
	e := b.chats.lock(own.ID)
	defer b.chats.unlock(e)
	err := b.chats.read(ctx, e, own, in.At)
	if err == nil {
		for _, g := range e.doc.Groups {
			if g == kitchen.ChatID(in.Chat.ID) {
				return
			}
		}
		_, err = b.chats.change(ctx, e, own, "", in.At, func(d *kitchen.Document) error {
			if !d.Join(kitchen.ChatID(in.Chat.ID)) {
				return fmt.Errorf("note group: %w", kitchen.ErrFull)
			}
			return nil
		})
	}
	if err != nil {
		b.log.Warn("group not noted for its person", "chat", in.Chat.ID, "error", err)
	}
}

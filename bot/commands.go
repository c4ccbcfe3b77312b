package bot

import (
	"context"
	"strings"

	"bagwatch/internal/kitchen"
	"bagwatch/internal/reply"
)

// The commands, by their names on every platform and in every language.
const (
	cmdStart    = "start"
	cmdHelp     = "help"
	cmdCook     = "cook"
	cmdFoods    = "foods"
	cmdWater    = "water"
	cmdSettings = "settings"
	cmdPrivacy  = "privacy"
	cmdCancel   = "cancel"
	cmdBags     = "bags"
	cmdSafe     = "safe"
	cmdChill    = "chill"
	cmdDinner   = "dinner"
	cmdExport   = "export"
	cmdForget   = "forget"
	cmdLog      = "log"
)

// Commands lists the commands in the order of menus; a menu's text for each is the message
// "command.<name>".
func Commands() []string {
	return []string{cmdCook, cmdDinner, cmdBags, cmdLog, cmdSafe, cmdChill, cmdFoods, cmdWater, cmdSettings, cmdHelp, cmdPrivacy, cmdExport, cmdForget, cmdCancel}
}

// command answers a command. Unknown ones are met with silence in a group: they may be for another bot.
func (t *turn) command(ctx context.Context, name, rest string) error {
	if name != cmdCancel {
		t.entry.person(t.in.From.ID, t.in.At).waiting = ""
	}
	switch name {
	case cmdStart:
		return t.start(ctx, rest)
	case cmdHelp:
		return t.help(ctx)
	case cmdCook:
		if rest != "" {
			return t.words(ctx, rest)
		}
		return t.whatToCook(ctx)
	case cmdDinner:
		return t.dinnerCommand(ctx, rest)
	case cmdBags:
		return t.bags(ctx)
	case cmdSafe:
		return t.safe(ctx, rest)
	case cmdChill:
		return t.chill(ctx, rest)
	case cmdFoods:
		return t.foodGroups(ctx)
	case cmdWater:
		if done, err := t.diaryWords(ctx, rest); done || err != nil { // "/water power out 18:00 to 18:40"
			return err
		}
		return t.water(ctx, rest)
	case cmdSettings:
		return t.settings(ctx, rest)
	case cmdPrivacy:
		return t.privacy(ctx)
	case cmdLog:
		return t.pastCooks(ctx)
	case cmdExport:
		return t.export(ctx)
	case cmdForget:
		return t.forgetAsk(ctx)
	case cmdCancel:
		return t.cancel(ctx)
	}
	if t.chat.Group {
		return nil
	}
	return t.say(ctx, t.lang.Lines(reply.BotUnknown, reply.Data{"Command": reply.Echo("/" + name)}))
}

// start greets, or opens a plan that somebody shared.
func (t *turn) start(ctx context.Context, payload string) error {
	if payload != "" {
		if r, err := t.packer.unpack(payload); err == nil {
			return t.answer(ctx, asked{request: r})
		}
		if done, err := t.startTyped(ctx, payload); done || err != nil { // "/start ribeye 3 cm": the verb
			return err
		}
	}
	id := reply.BotStart
	if t.chat.Group {
		id = reply.BotHello
	}
	_, err := t.send(ctx, Message{Text: t.lang.Titled(id, nil), Buttons: t.examples()})
	return err
}

// examples are messages that a tap sends, and the way to help.
func (t *turn) examples() [][]Button {
	var out [][]Button
	for _, id := range [...]reply.ID{reply.BotExampleSteak, reply.BotExampleChicken, reply.BotExampleFish} {
		text := t.lang.Say(id, nil)
		if data := string(actSay) + text; len(data) <= 64 {
			out = append(out, []Button{{Label: text, Data: data}})
		}
	}
	return append(out, []Button{
		{Label: t.lang.Say(reply.ButtonFoods, nil), Data: string(actFoods)},
		{Label: t.lang.Say(reply.ButtonHelp, nil), Data: string(actHelp)},
	})
}

func (t *turn) help(ctx context.Context) error {
	id := reply.BotHelp
	if t.chat.Group {
		id = reply.BotHelpgroup
	}
	_, err := t.send(ctx, Message{Text: t.lang.Titled(id, nil), Buttons: t.examples()[:3]})
	return err
}

// whatToCook asks for a food; in a group so that the answer is a reply and comes through.
func (t *turn) whatToCook(ctx context.Context) error {
	if t.chat.Group {
		_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.BotCookgroup, nil), AskReply: true})
		return err
	}
	_, err := t.send(ctx, Message{Text: t.lang.Lines(reply.BotCook, nil), Buttons: t.examples()})
	return err
}

// privacy says exactly what is kept and for how long, by the document's own figures.
func (t *turn) privacy(ctx context.Context) error {
	k := kitchen.KeptFor()
	text := t.lang.Titled(reply.PrivacyText, reply.Data{
		"Idle": t.lang.Span(k.IdleChat), "Last": t.lang.Span(k.LastRequest), "Keys": t.lang.Span(k.AppliedKeys),
		"Parked": t.lang.Span(k.ParkedChat), "Closed": t.lang.Span(k.ClosedBags), "Log": t.lang.Span(k.Log),
	})
	more := t.lang.Lines(reply.PrivacyDiary, reply.Data{"Diary": t.lang.Span(k.Diary), "Over": t.lang.Span(k.KeptOver)})
	return t.say(ctx, append(append(text, nil), more...))
}

// cancel ends a question that was open.
func (t *turn) cancel(ctx context.Context) error {
	g := t.entry.person(t.in.From.ID, t.in.At)
	id := reply.BotNothing
	if g.waiting != "" {
		g.waiting, id = "", reply.BotCancelled
	} else if done, err := t.cancelDinner(ctx); done || err != nil {
		return err
	}
	return t.say(ctx, t.lang.Lines(id, nil))
}

// press answers a button by the first letter of its data. What it carries can be forged: it is read as
// strictly as typed text, and rights are checked again.
func (t *turn) press(ctx context.Context) error {
	if t.in.Data == "" {
		return ErrPacked
	}
	act, data := rune(t.in.Data[0]), t.in.Data[1:]
	switch act {
	case actPlan, actNew, actDoneness, actCurve:
		r, err := t.packer.unpack(data)
		if err != nil {
			return err
		}
		if act == actCurve {
			return t.curve(ctx, r)
		}
		if act == actNew {
			return t.anew(ctx, asked{request: r})
		}
		return t.answer(ctx, asked{request: r, menu: act == actDoneness})
	case actSay:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		return t.words(ctx, data)
	case actFoods:
		group, page, _ := strings.Cut(data, ":")
		return t.foodList(ctx, group, page)
	case actSetting:
		return t.setting(ctx, data)
	case actStart:
		return t.pressStart(ctx, data)
	case actBags:
		return t.pressBags(ctx)
	case actForget:
		return t.forget(ctx)
	case actDinner:
		return t.pressDinner(ctx, data)
	case actBag:
		return t.pressBag(ctx, t.in.Data)
	case actSafe:
		return t.pressSafe(ctx, data)
	case actChill:
		return t.pressChill(ctx, data)
	case actKeep:
		return t.pressKeep(ctx, data)
	case actKept:
		return t.pressKept(ctx, data)
	case actDiary:
		return t.pressDiary(ctx, data)
	case actLog:
		return t.pressLog(ctx, data)
	case actHelp:
		if err := t.notice(ctx, ""); err != nil {
			return err
		}
		return t.help(ctx)
	}
	return ErrPacked
}

// anew answers a press with a message of its own, so that the pressed list stays.
func (t *turn) anew(ctx context.Context, a asked) error {
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	p, err := t.plan(a)
	if err != nil {
		return err
	}
	t.remember(a.request)
	id, err := t.send(ctx, p.message)
	if err == nil {
		t.entry.sent(id, a.request)
	}
	return err
}

package bot

import (
	"context"
	"fmt"
	"strings"

	"bagwatch/internal/food"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
)

// sharedMark stands before a packed request in the text of a Share button.
const sharedMark = "="

// mostResults is how many answers an inline query gets.
const mostResults = 6

// inline answers what is typed after the bot's name in any chat: the plan, and those of a vague word's
// other foods. The buttons under a result's message work in any chat, and a deep link opens the plan in the
// bot's own.
func (t *turn) inline(ctx context.Context) error {
	var results []Result
	a, ok := t.inlineAsked()
	for _, id := range append([]food.ID{a.request.Food}, a.others...) {
		if !ok || len(results) == mostResults {
			break
		}
		r := a.request
		if r.Food != id {
			r.Food, r.Doneness = id, ""
		}
		p, err := t.plan(asked{request: r})
		if err != nil {
			return err
		}
		if p.plan == nil {
			continue
		}
		head, window := t.lang.Brief(p.plan, reply.Options{Units: t.units})
		packed := t.packer.pack(r)
		p.message.Buttons = t.carried(p.message.Buttons, packed)
		results = append(results, Result{ID: packed, Title: head, Description: window, Message: p.message})
	}
	if len(results) == 0 {
		title := reply.InlineNoneTitle
		if strings.TrimSpace(t.in.Text) == "" {
			title = reply.InlineEmptyTitle
		}
		example := t.lang.Say(reply.BotExampleSteak, nil)
		results = []Result{{
			ID: "none", Title: t.lang.Say(title, nil), Description: t.lang.Say(reply.InlineEmptyText, nil),
			Message: Message{Text: t.lang.Lines(reply.BotStart, nil), Buttons: [][]Button{{{Label: example, Share: example}}}},
		}}
	}
	if err := t.out.Results(ctx, t.in.InlineID, results); err != nil {
		return fmt.Errorf("inline results: %w", err)
	}
	return nil
}

// carried are the buttons of a plan under a message that was sent by a person through the bot: those that
// change the plan, and a deep link that opens it in the bot's chat.
func (t *turn) carried(buttons [][]Button, packed string) [][]Button {
	buttons = buttons[: len(buttons)-1 : len(buttons)-1] // the last row shares, which is done
	if address := t.link(packed); address != "" {
		buttons = append(buttons, []Button{{Label: t.lang.Say(reply.ButtonOpen, nil), URL: address}})
	}
	return buttons
}

// inlineAsked reads an inline query: a shared request, or words.
func (t *turn) inlineAsked() (asked, bool) {
	for word := range strings.FieldsSeq(t.in.Text) {
		if packed, ok := strings.CutPrefix(word, sharedMark); ok {
			if r, err := t.packer.unpack(packed); err == nil {
				return asked{request: r}, true
			}
		}
	}
	if len(t.in.Text) > 4*phrase.MaxRunes {
		return asked{}, false
	}
	u := t.parsers[t.lang.Tag].Parse(t.in.Text)
	if u.Problem != nil || u.RefusedFood != "" || u.Food.ID == "" {
		return asked{}, false
	}
	return asked{request: u.Request, others: u.Food.Alternatives}, true
}

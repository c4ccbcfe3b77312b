package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"bagwatch/bot"
	"bagwatch/internal/reply"
)

// door lets in what may come in, and is the bot's handler.
type door struct {
	*bot.Bot
	allow map[int64]bool // empty: everybody
	now   func() time.Time
	out   bot.Messenger
	texts *reply.Library

	mu   sync.Mutex
	told map[bot.ChatID]bool // strangers that were told; lost at a restart
}

// mostTold bounds the strangers that are remembered. With more of them all are forgotten, and may be told
// once again. House rule.
const mostTold = 10_000

func (s *server) door(b *bot.Bot, out bot.Messenger) *door {
	d := &door{Bot: b, allow: map[int64]bool{}, out: out, texts: s.texts, told: map[bot.ChatID]bool{}}
	for _, id := range s.cfg.Allow {
		d.allow[id] = true
	}
	if s.fast() { // the platform's dates are those of the real clock
		d.now = s.clock.now
	}
	return d
}

// Handle passes on what comes from chats and people that are answered. Others are told once in each chat
// that they are not, with the number to let in.
func (d *door) Handle(ctx context.Context, in bot.Incoming) error {
	if len(d.allow) > 0 && !d.allow[int64(in.Chat.ID)] && !d.allow[int64(in.From.ID)] {
		return d.stranger(ctx, in)
	}
	if d.now != nil {
		in.At = d.now()
	}
	return d.Bot.Handle(ctx, in)
}

// stranger tells somebody that they are not answered. Nothing of them is kept or stored.
func (d *door) stranger(ctx context.Context, in bot.Incoming) error {
	lang := d.texts.Language(in.From.Language)
	switch {
	case in.Kind == bot.Press: // an app waits for an answer to it
		if err := d.out.Notice(ctx, in.PressID, lang.Say(reply.BotStrangernotice, nil)); err != nil {
			return fmt.Errorf("notice to a stranger: %w", err)
		}
		return nil
	case in.Kind != bot.Text, in.Chat.Group && !in.ToBot && !strings.HasPrefix(in.Text, "/"):
		return nil
	}
	if !d.first(in.Chat.ID) {
		return nil
	}
	text := lang.Lines(reply.BotStranger, reply.Data{"Number": fmt.Sprint(in.Chat.ID)})
	if _, err := d.out.Send(ctx, in.Chat, bot.Message{Text: text}); err != nil {
		return fmt.Errorf("tell a stranger: %w", err)
	}
	return nil
}

// first tells whether a chat was not told before.
func (d *door) first(chat bot.ChatID) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.told[chat] {
		return false
	}
	if len(d.told) >= mostTold {
		clear(d.told)
	}
	d.told[chat] = true
	return true
}

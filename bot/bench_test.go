package bot_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/cook"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
	"bagwatch/locales"
)

// silentMessenger throws away what is said.
type silentMessenger struct{}

func (silentMessenger) Send(context.Context, bot.Chat, bot.Message) (bot.MessageID, error) {
	return 1, nil
}
func (silentMessenger) Edit(context.Context, bot.Chat, bot.MessageID, bot.Message) error { return nil }
func (silentMessenger) Notice(context.Context, string, string) error                     { return nil }
func (silentMessenger) Results(context.Context, string, []bot.Result) error              { return nil }
func (silentMessenger) Admin(context.Context, bot.Chat, bot.PersonID) (bool, error) {
	return false, nil
}

// BenchmarkPlainQuestion is a whole answer of a chat that is known, without the platform.
func BenchmarkPlainQuestion(b *testing.B) {
	foods := catalogue(b)
	book, err := phrase.Load(locales.FS, foods)
	require.NoError(b, err)
	texts, err := reply.Load(locales.FS, nil)
	require.NoError(b, err)
	talker := bot.New(cook.New(foods), book, texts, store.NewMemory(func() time.Time { return noon }), silentMessenger{}, bot.Config{Burst: -1})
	in := bot.Incoming{Kind: bot.Text, At: noon, Chat: bot.Chat{ID: 11}, From: bot.Person{ID: 11, Language: "en"}, Text: "ribeye 450 g 3 cm medium rare"}
	b.ReportAllocs()
	for b.Loop() {
		if err := talker.Handle(b.Context(), in); err != nil {
			b.Fatal(err)
		}
	}
}

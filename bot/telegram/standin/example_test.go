package standin_test

import (
	"context"
	"fmt"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"bagwatch/bot/telegram/standin"
)

// In a test, New(t) replaces Start and Close, and violations fail the test by themselves.
func Example() {
	s, err := standin.Start(standin.Config{})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	b, err := bot.New(s.Token(), bot.WithServerURL(s.URL()), bot.WithDefaultHandler(
		func(ctx context.Context, b *bot.Bot, u *models.Update) {
			if q := u.CallbackQuery; q != nil {
				_, _ = b.AnswerCallbackQuery(ctx, &bot.AnswerCallbackQueryParams{CallbackQueryID: q.ID, Text: "pulled"})
				_, _ = b.EditMessageText(ctx, &bot.EditMessageTextParams{ChatID: q.Message.Message.Chat.ID, MessageID: q.Message.Message.ID, Text: "in the ice"})
				return
			}
			_, _ = b.SendMessage(ctx, &bot.SendMessageParams{ChatID: u.Message.Chat.ID, Text: "<b>Bag</b> 1", ParseMode: models.ParseModeHTML,
				ReplyMarkup: map[string]any{"inline_keyboard": [][]map[string]any{{{"text": "Pull", "callback_data": "pull:1"}}}}})
		}))
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go b.Start(ctx)

	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	s.SendText(ann, chat, "ribeye 450 g")
	card := s.Expect(chat, "Bag 1")
	fmt.Println(card)
	answer, err := s.WaitForAnswer(s.Press(ann, card, "Pull"), 5*time.Second)
	fmt.Println(answer.Text, err)
	fmt.Println(s.Expect(chat, "ice"))
	fmt.Println(len(s.Violations()), len(s.UnansweredCallbacks()))
	// Output:
	// Bag 1
	// [Pull]
	// pulled <nil>
	// in the ice
	// 0 0
}

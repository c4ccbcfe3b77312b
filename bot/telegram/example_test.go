package telegram_test

import (
	"context"
	"fmt"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/reply"
)

// greeter answers each text.
type greeter struct{ out bot.Messenger }

func (g greeter) Handle(ctx context.Context, in bot.Incoming) error {
	if in.Kind != bot.Text {
		return nil
	}
	_, err := g.out.Send(ctx, in.Chat, bot.Message{
		Text:    reply.Text{{{Text: "Hello, "}, {Text: in.From.Name, Style: reply.Strong}}},
		ReplyTo: in.Message,
	})
	return err
}

// The adapter is made first, since what it hands updates to speaks through it.
func Example() {
	server, err := standin.Start(standin.Config{}) // the real one is https://api.telegram.org
	if err != nil {
		fmt.Println(err)
		return
	}
	defer server.Close()
	adapter, err := telegram.New(server.Token(), telegram.Config{APIURL: server.URL()})
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- adapter.Run(ctx, greeter{adapter}) }()

	ann := server.AddUser(standin.User{FirstName: "Ann"})
	server.SendText(ann, server.Private(ann), "hi")
	fmt.Println(server.Expect(server.Private(ann), "Hello").Text)
	stop()
	fmt.Println(<-done, server.Pending())
	// Output:
	// Hello, Ann
	// <nil> 0
}

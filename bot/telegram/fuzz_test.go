package telegram_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// FuzzWebhookBody delivers anything with the right secret: it is answered 200 or refused, nothing panics,
// and what reaches the handler names who it is from and where.
func FuzzWebhookBody(f *testing.F) {
	const who = `"from":{"id":7,"is_bot":false,"first_name":"Ann"},"chat":{"id":7,"type":"private"}`
	for _, body := range []string{
		"", "{}", "null", "[]", `{"update_id":0}`, `{"update_id":1}`, `{"update_id":-1,"message":null}`,
		`{"update_id":2,"message":{"message_id":1,"date":1,` + who + `,"text":"ribeye 3 cm"}}`,
		`{"update_id":3,"edited_message":{"message_id":1,"date":1,` + who + `,"text":"ribeye 4 cm"}}`,
		`{"update_id":4,"callback_query":{"id":"9","from":{"id":7,"is_bot":false,"first_name":"Ann"},"chat_instance":"1","data":"b/pull/1"}}`,
		`{"update_id":5,"inline_query":{"id":"9","from":{"id":7,"is_bot":false,"first_name":"Ann"},"query":"egg","offset":""}}`,
		`{"update_id":6,"my_chat_member":{"chat":{"id":-5,"type":"group","title":"Quay Street"},"from":{"id":7,"is_bot":false,"first_name":"Ann"},"date":1,"old_chat_member":{"status":"left","user":{"id":1}},"new_chat_member":{"status":"member","user":{"id":1}}}}`,
		`{"update_id":7,"message":{"message_id":1,"date":1,` + who + `,"location":{"latitude":1e400,"longitude":0}}}`,
		`{"update_id":8,"message":{"message_id":"x"}}`,
		`{"update_id":99999999999999999999}`,
	} {
		f.Add([]byte(body))
	}
	fake, err := standin.Start(standin.Config{SkipSchema: true, KeepCalls: -1}) // it knows none of the forged ids, and says so to nobody
	require.NoError(f, err)
	adapter, err := telegram.New(fake.Token(), telegram.Config{
		APIURL: fake.URL(), WebhookURL: "http://127.0.0.1:1/hook", WebhookSecret: secret,
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	require.NoError(f, err)
	var reached []bot.Incoming // of one delivery at a time
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- adapter.Run(ctx, handlerFunc(func(_ context.Context, in bot.Incoming) error {
			reached = append(reached, in)
			return nil
		}))
	}()
	f.Cleanup(func() {
		cancel()
		require.NoError(f, <-done)
		fake.Close()
	})
	handler := adapter.Handler()
	for answer := 0; answer != http.StatusBadRequest; { // it runs once it reads
		answer = deliver(handler, "x")
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		reached = nil
		switch code := deliver(handler, string(body)); code {
		case http.StatusOK:
		case http.StatusBadRequest, http.StatusRequestEntityTooLarge:
			require.Empty(t, reached, "refused and handled")
		default:
			t.Fatalf("answered %d", code)
		}
		require.Zero(t, adapter.Counts().Panics)
		for _, in := range reached {
			require.NotEmpty(t, in.Kind)
			require.NotEmpty(t, in.Key)
			require.True(t, in.Chat.ID != 0 || in.Kind == bot.Inline, "%+v", in)
			require.True(t, utf8.ValidString(in.Text))
			require.True(t, utf8.ValidString(in.From.Name))
		}
	})
}

func deliver(h http.Handler, body string) int {
	r := httptest.NewRequest(http.MethodPost, "/hook", strings.NewReader(body))
	r.Header.Set("X-Telegram-Bot-Api-Secret-Token", secret)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code
}

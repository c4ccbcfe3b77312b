package telegram_test

import (
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// onlooker passes requests on after a look.
type onlooker struct {
	http.Transport
	mu   sync.Mutex
	look func(*http.Request)
}

func (o *onlooker) RoundTrip(r *http.Request) (*http.Response, error) {
	o.mu.Lock()
	o.look(r)
	o.mu.Unlock()
	return o.Transport.RoundTrip(r)
}

// A request whose body streams cannot be sent again when an HTTP/2 server closes the connection.
func TestEveryRequestCanBeSentAgain(t *testing.T) {
	kinds := map[string]string{}
	wire := &onlooker{look: func(r *http.Request) {
		method := r.URL.Path[strings.LastIndexByte(r.URL.Path, '/')+1:]
		kinds[method], _, _ = strings.Cut(r.Header.Get("Content-Type"), ";")
		if method == "getMe" {
			assert.Zero(t, r.ContentLength)
			return
		}
		if !assert.NotNil(t, r.GetBody, method) {
			return
		}
		again, err := r.GetBody()
		assert.NoError(t, err)
		body, err := io.ReadAll(again)
		assert.NoError(t, err)
		assert.EqualValues(t, len(body), r.ContentLength, method)
		assert.NotEmpty(t, body, method)
	}}
	d := newDesk(t, telegram.Config{Transport: wire})
	d.send(t, bot.Message{Text: lines("text")})
	d.send(t, bot.Message{Text: lines("picture"), Picture: picture(t, 100)})
	assert.Equal(t, map[string]string{
		"getMe": "", "getUpdates": "application/json", "sendMessage": "application/json", "sendPhoto": "multipart/form-data",
	}, kinds)
}

// An edit of some messages answers true where the library wants a message.
func TestAnEditThatAnswersTrueIsNoError(t *testing.T) {
	a, err := telegram.New(standin.DefaultToken, telegram.Config{Transport: canned(`{"ok":true,"result":true}`)})
	require.NoError(t, err)
	require.NoError(t, a.Edit(t.Context(), bot.Chat{ID: 7}, 1, bot.Message{Text: lines("x"), Picture: picture(t, 100)}))
	require.NoError(t, a.Edit(t.Context(), bot.Chat{ID: 7}, 1, bot.Message{Text: lines("x")}))
}

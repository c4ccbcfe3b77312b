package telegram_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// paceRig sends through an adapter at a stand-in that refuses what is too fast.
type paceRig struct {
	*telegram.Adapter
	s *standin.Server
}

func newPaceRig(t *testing.T, rates telegram.Rates, limits standin.Rates) *paceRig {
	t.Helper()
	s := standin.New(t, func(c *standin.Config) { c.Rates = limits })
	a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL(), Rates: rates})
	require.NoError(t, err)
	return &paceRig{a, s}
}

func (r *paceRig) person(name string) bot.Chat {
	return bot.Chat{ID: bot.ChatID(r.s.Open(r.s.AddUser(standin.User{FirstName: name})).ID())}
}

// The real figures, so it takes some seconds: 25 alerts to 25 chats and 3 to one chat.
func TestAlertsKeepToTheOfficialRates(t *testing.T) {
	t.Parallel()
	r := newPaceRig(t, telegram.Rates{}, standin.OfficialRates())
	var jobs sync.WaitGroup
	at := time.Now()
	send := func(to bot.Chat, text string) {
		jobs.Go(func() {
			_, err := r.Paced(telegram.News).Send(context.Background(), to, bot.Message{Text: lines(text)})
			assert.NoError(t, err)
		})
	}
	one := r.person("One")
	for i := range 3 {
		send(one, fmt.Sprint("bag ", i))
	}
	for i := range 25 {
		send(r.person(fmt.Sprint("Cook", i)), "ready")
	}
	jobs.Wait()
	took := time.Since(at)
	assert.Zero(t, r.s.RateRefusals())
	assert.GreaterOrEqual(t, took, 2*time.Second, "three to one chat take two seconds")
	assert.Less(t, took, 4*time.Second, "and the others go meanwhile")
}

func TestAGroupGetsTwentyAMinute(t *testing.T) {
	t.Parallel()
	r := newPaceRig(t, telegram.Rates{Overall: -1, Chat: -1, Group: 1200}, standin.Rates{}) // a group's minute in a second
	ann := r.s.AddUser(standin.User{FirstName: "Ann"})
	group := bot.Chat{ID: bot.ChatID(r.s.Group("Quay Street", ann).ID()), Group: true}
	at := time.Now()
	for i := range 15 {
		_, err := r.Paced(telegram.News).Send(t.Context(), group, bot.Message{Text: lines(fmt.Sprint(i))})
		require.NoError(t, err)
	}
	assert.GreaterOrEqual(t, time.Since(at), 440*time.Millisecond, "15 less the 6 at once, each 50 ms, less rounding")
}

func TestSafetyGoesFirstAndEditsLast(t *testing.T) {
	t.Parallel()
	r := newPaceRig(t, telegram.Rates{Overall: 20, Chat: -1, Group: -1}, standin.Rates{})
	cards := r.person("Cards")
	id, err := r.Send(t.Context(), cards, bot.Message{Text: lines("card")})
	require.NoError(t, err)
	for i := range 12 { // uses up what may go at once
		_, err := r.Send(t.Context(), r.person(fmt.Sprint("Cook", i)), bot.Message{Text: lines("answer")})
		require.NoError(t, err)
	}
	var mu sync.Mutex
	var order []string
	var jobs sync.WaitGroup
	did := func(what string, f func() error) {
		jobs.Go(func() {
			assert.NoError(t, f())
			mu.Lock()
			order = append(order, what)
			mu.Unlock()
		})
		time.Sleep(2 * time.Millisecond) // so that they wait in this order
	}
	send := func(p telegram.Priority, to bot.Chat) func() error {
		return func() error {
			_, err := r.Paced(p).Send(context.Background(), to, bot.Message{Text: lines("alert")})
			return err
		}
	}
	did("edit", func() error {
		return r.Paced(telegram.Safety).Edit(context.Background(), cards, id, bot.Message{Text: lines("card 2")})
	})
	did("news", send(telegram.News, r.person("N")))
	did("safety", send(telegram.Safety, r.person("S")))
	jobs.Wait()
	assert.Equal(t, []string{"safety", "news", "edit"}, order)
}

func TestAnswersNeverWait(t *testing.T) {
	r := newPaceRig(t, telegram.Rates{Overall: 0.001, Chat: 0.001, Group: 0.001}, standin.Rates{})
	to := r.person("Ann")
	at := time.Now()
	for i := range 20 {
		_, err := r.Send(t.Context(), to, bot.Message{Text: lines(fmt.Sprint(i))})
		require.NoError(t, err)
	}
	assert.Less(t, time.Since(at), 5*time.Second, "at the paced rate it would take hours")
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	_, err := r.Paced(telegram.Safety).Send(ctx, to, bot.Message{Text: lines("alert")})
	require.ErrorIs(t, err, context.DeadlineExceeded, "they count, and one who waits can leave")
}

func TestAnAlertThatIsRefusedIsGivenBackAtOnce(t *testing.T) {
	r := newPaceRig(t, telegram.Rates{Overall: -1, Chat: -1, Group: -1}, standin.Rates{})
	to := r.person("Ann")
	r.s.Inject(standin.TooMany("sendMessage", 3, 1))
	at := time.Now()
	var busy *bot.BusyError
	_, err := r.Paced(telegram.News).Send(t.Context(), to, bot.Message{Text: lines("ready")})
	require.ErrorAs(t, err, &busy)
	assert.Equal(t, 3*time.Second, busy.After)
	assert.Less(t, time.Since(at), time.Second)
}

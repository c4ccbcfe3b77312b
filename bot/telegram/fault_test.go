package telegram_test

import (
	"context"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

func TestSendsSurviveFaults(t *testing.T) {
	for name, tt := range map[string]struct {
		fault standin.Fault
		least time.Duration // how long it must have waited
		sent  int           // how often the person sees it
	}{
		"told to wait":           {standin.Fault{Code: 429, After: 1}, time.Second, 1},
		"told to wait twice":     {standin.Fault{Code: 429, After: 1, Times: 2}, 2 * time.Second, 1},
		"a server error":         {standin.Fault{Code: 500}, 300 * time.Millisecond, 1},
		"a proxy's page":         {standin.BadGateway("", 2), 1200 * time.Millisecond, 1},
		"cut before it was done": {standin.Fault{Cut: standin.CutBefore}, 300 * time.Millisecond, 1},
		"cut after it was done":  {standin.Fault{Cut: standin.CutAfter}, 300 * time.Millisecond, 2}, // nobody can know
	} {
		for _, method := range []string{"sendMessage", "sendPhoto"} {
			t.Run(name+" in "+method, func(t *testing.T) {
				t.Parallel()
				s := standin.New(t)
				ann := s.AddUser(standin.User{FirstName: "Ann"})
				chat := s.Open(ann)
				a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL()})
				require.NoError(t, err)
				fault := tt.fault
				fault.Method = method
				s.Inject(fault)
				m := bot.Message{Text: lines("hello")}
				if method == "sendPhoto" {
					m.Picture = picture(t, 100)
				}
				at := time.Now()
				_, err = a.Send(t.Context(), bot.Chat{ID: bot.ChatID(chat.ID())}, m)
				require.NoError(t, err)
				assert.GreaterOrEqual(t, time.Since(at), tt.least)
				assert.Len(t, s.Messages(chat), tt.sent)
				assert.Zero(t, s.EarlyRetries())
			})
		}
	}
}

func TestAServerThatStaysDownGivesAnErrorWithoutTheToken(t *testing.T) {
	t.Parallel()
	s := standin.New(t)
	a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL()})
	require.NoError(t, err)
	s.Close()
	for _, m := range []bot.Message{{Text: lines("x")}, {Text: lines("x"), Picture: picture(t, 100)}} {
		_, err = a.Send(t.Context(), bot.Chat{ID: 7}, m)
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "AAStandIn")
		assert.NotContains(t, fmt.Sprintf("%#v", err), "AAStandIn")
	}
	assert.Equal(t, int64(2*3), a.Counts().Retries)
}

func TestTooLongAWaitIsGivenBack(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Open(ann)
	to := bot.Chat{ID: bot.ChatID(chat.ID())}
	a, err := telegram.New(s.Token(), telegram.Config{APIURL: s.URL(), Patience: time.Second})
	require.NoError(t, err)
	s.Inject(standin.TooMany("sendMessage", 7, 1))
	var busy *bot.BusyError
	_, err = a.Send(t.Context(), to, bot.Message{Text: lines("x")})
	require.ErrorAs(t, err, &busy)
	assert.Equal(t, 7*time.Second, busy.After)
	calls := s.Count("sendMessage")
	_, err = a.Send(t.Context(), to, bot.Message{Text: lines("x")})
	require.ErrorAs(t, err, &busy, "the chat is left alone until then")
	assert.Less(t, busy.After, 7*time.Second)
	assert.Equal(t, calls, s.Count("sendMessage"), "without asking")
	assert.Zero(t, s.EarlyRetries())

	ben := s.AddUser(standin.User{FirstName: "Ben"})
	_, err = a.Send(t.Context(), bot.Chat{ID: bot.ChatID(s.Open(ben).ID())}, bot.Message{Text: lines("x")})
	require.NoError(t, err, "others are not")

	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	s.Inject(standin.TooMany("editMessageText", 1, 1))
	require.ErrorAs(t, a.Edit(ctx, bot.Chat{ID: bot.ChatID(ben.ID)}, 1, bot.Message{Text: lines("y")}), &busy, "a deadline before the wait is over")
}

func TestAPanicGetsAnApologyAndTheBotGoesOn(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	var a *telegram.Adapter
	cfg := telegram.Config{Apology: func(ctx context.Context, in bot.Incoming) {
		if in.Text == "panic twice" {
			panic("again")
		}
		_, err := a.Send(ctx, in.Chat, bot.Message{Text: lines("Sorry, that broke."), ReplyTo: in.Message})
		assert.NoError(t, err)
	}}
	ready := make(chan struct{})
	r := run(t, s, cfg, func(x *telegram.Adapter) handlerFunc {
		a = x
		close(ready)
		return func(ctx context.Context, in bot.Incoming) error {
			switch in.Text {
			case "panic", "panic twice":
				panic("with " + in.Text)
			case "index":
				var list []int
				_ = list[len(in.Text)]
			}
			return echo(a)(ctx, in)
		}
	})
	<-ready
	for _, text := range []string{"panic", "index"} {
		s.SendText(ann, chat, text)
		s.Expect(chat, "Sorry")
	}
	s.SendText(ann, chat, "panic twice")
	s.SendText(ann, chat, "on we go")
	s.Expect(chat, "on we go")
	assert.Equal(t, int64(3), r.Counts().Panics)
	assert.Contains(t, r.log.String(), "index out of range")
	assert.Contains(t, r.log.String(), "fault_test.go", "the stack says where")
	assert.NotContains(t, r.log.String(), "with panic")
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, time.Millisecond)
}

// The log at its most talkative holds no text, no name and no token, whatever goes wrong.
func TestTheLogHoldsNoTextsNamesOrTokens(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Zerafina", LastName: "Oyelaran", Username: "zera_oy"})
	chat := s.Private(ann)
	group := s.Group("Wharfside", ann)
	out := &safeBuffer{}
	_ = run(t, s, telegram.Config{Log: slog.New(slog.NewJSONHandler(out, &slog.HandlerOptions{Level: slog.LevelDebug - 100})),
		Profiles: []telegram.Profile{{Name: "Profilename", Commands: []telegram.Command{{Name: "cook", Description: "Commandtext"}}}}},
		func(a *telegram.Adapter) handlerFunc {
			return func(ctx context.Context, in bot.Incoming) error {
				switch in.Text {
				case "panictext":
					panic(in.Text + in.From.Name)
				case "errortext":
					return fmt.Errorf("handled badly: %w", context.DeadlineExceeded)
				}
				_, err := a.Send(ctx, in.Chat, bot.Message{Text: lines("answertext"), Buttons: [][]bot.Button{{{Label: "", Data: "payloadtext"}}}})
				return err
			}
		})
	s.Inject(standin.Fault{Method: "sendMessage", Code: 400, Text: "Bad Request: can't parse entities: odd"})
	s.Inject(standin.Fault{Method: "sendMessage", Cut: standin.CutBefore, Skip: 1})
	s.Inject(standin.BadGateway("getUpdates", 1))
	s.EnqueueRaw(ann.ID, `"message":{"message_id":"rawtext"}`)
	for _, text := range []string{"questiontext", "panictext", "errortext", "questiontext"} {
		s.SendText(ann, chat, text)
	}
	s.SendText(ann, group, "/grouptext@quay_street_bot")
	s.PressData(ann, chat, 1, "pressdata")
	s.Expect(group, "answertext")
	s.Expect(chat, "answertext")
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, time.Millisecond)
	log := out.String()
	for _, private := range []string{"questiontext", "panictext", "errortext", "answertext", "grouptext", "rawtext", "pressdata", "payloadtext",
		"Zerafina", "Oyelaran", "zera_oy", "Wharfside", "Profilename", "Commandtext", "AAStandInToken", standin.DefaultToken} {
		assert.NotContains(t, log, private)
	}
	for _, told := range []string{"update handled", "handler panicked", "update not handled", "update skipped", "poll failed", "sent as plain text"} {
		assert.Contains(t, log, told)
	}
}

func TestProfilesAreWrittenWhenTheyDiffer(t *testing.T) {
	s := standin.New(t)
	cfg := telegram.Config{Profiles: []telegram.Profile{
		{Name: "Bagwatch", Description: "Tells when a bag is ready.", Short: "Water bath times.",
			Commands: []telegram.Command{{Name: "cook", Description: "Plan a cook"}, {Name: "bags", Description: "What is in"}}},
		{Language: "de", Description: "Sagt, wann ein Beutel fertig ist.", Commands: []telegram.Command{{Name: "cook", Description: "Planen"}}},
	}}
	writes := func() int {
		return s.Count("setMyCommands") + s.Count("setMyName") + s.Count("setMyDescription") + s.Count("setMyShortDescription")
	}
	reads := func() int {
		return s.Count("getMyCommands") + s.Count("getMyName") + s.Count("getMyDescription") + s.Count("getMyShortDescription")
	}
	for try := range 2 {
		r := run(t, s, cfg, echo)
		require.Eventually(t, func() bool { return reads() == 6*(try+1) }, patience, time.Millisecond)
		require.Eventually(t, func() bool { return writes() == 6 }, patience, time.Millisecond)
		r.ready(s)
		require.NoError(t, r.stop())
	}
	assert.Equal(t, 6, writes(), "the second start changes nothing")

	cfg.Profiles[1].Commands[0].Description = "Einen Gang planen"
	s.Inject(standin.Fault{Method: "getMyName", Code: 400, Text: "Bad Request: odd"})
	r := run(t, s, cfg, echo)
	require.Eventually(t, func() bool { return writes() == 7 }, patience, time.Millisecond)
	require.NoError(t, r.stop())
	assert.Contains(t, r.log.String(), "profile not set")
}

// A chat that must be left alone for longer than a call waits: its answer comes when it may.
func TestAnAnswerOutlastsALongWait(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	run(t, s, telegram.Config{Patience: time.Second}, echo)
	s.Inject(standin.TooMany("sendMessage", 2, 1))
	s.SendText(ann, chat, "patience")
	s.Expect(chat, "patience")
	assert.Zero(t, s.EarlyRetries())
}

func TestAPressIsAnsweredWhileTheHandlerIsBusy(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	release := make(chan struct{})
	run(t, s, telegram.Config{}, func(*telegram.Adapter) handlerFunc {
		return func(context.Context, bot.Incoming) error { <-release; return nil }
	})
	cb, err := s.WaitForAnswer(s.PressData(ann, s.Open(ann), 1, "x"), patience)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, cb.Took, 5*time.Second, "it waits for the handler first")
	close(release)
}

func TestABlockedChatIsNoError(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	s.SendText(ann, s.Private(ann), "hi and bye")
	s.Block(ann)
	r := run(t, s, telegram.Config{}, echo)
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, time.Millisecond)
	assert.Zero(t, r.Counts().Failed)
	assert.Contains(t, r.log.String(), "chat that is gone")
}

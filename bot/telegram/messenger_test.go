package telegram_test

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/reply"
)

// idle is a handler that does nothing.
func idle(*telegram.Adapter) handlerFunc {
	return func(context.Context, bot.Incoming) error { return nil }
}

// desk is a bot that only speaks, to Ann.
type desk struct {
	*running
	s    *standin.Server
	ann  *standin.User
	chat *standin.Chat
	to   bot.Chat
}

func newDesk(t *testing.T, cfg telegram.Config, opts ...standin.Option) *desk {
	t.Helper()
	s := standin.New(t, opts...)
	d := &desk{s: s, ann: s.AddUser(standin.User{FirstName: "Ann", LanguageCode: "en"})}
	d.chat = s.Open(d.ann)
	d.to = bot.Chat{ID: bot.ChatID(d.chat.ID())}
	d.running = run(t, s, cfg, idle)
	d.ready(s)
	return d
}

func (d *desk) send(t *testing.T, m bot.Message) bot.MessageID {
	t.Helper()
	id, err := d.Send(t.Context(), d.to, m)
	require.NoError(t, err)
	return id
}

func picture(t *testing.T, width int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, width, 60))))
	return b.Bytes()
}

func TestStylesBecomeMarkupAndAllElseIsEscaped(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	at := time.Date(2026, 11, 25, 22, 45, 0, 0, time.UTC)
	hostile := "<b>Ann</b> & \u202Enig\u202C \"x\" <script>"
	d.send(t, bot.Message{Text: reply.Text{
		{{Text: "Ribeye", Style: reply.Strong}, {Text: " at "}, {Text: "22:45", Style: reply.Clock, At: at}},
		{},
		{{Text: "55.5 °C <x>", Style: reply.Code}, {Text: " by " + hostile}, {Text: hostile, Style: reply.Strong}, {Style: reply.Strong}},
		{{Text: "no time", Style: reply.Clock}, {Text: "\xff broken"}},
	}})
	got := d.s.Expect(d.chat, "Ribeye at 22:45")
	assert.Equal(t, "Ribeye at 22:45\n\n55.5 °C <x> by "+hostile+hostile+"\nno time\uFFFD broken", got.Text)
	var kinds []string
	for _, e := range got.Entities {
		kinds = append(kinds, e.Type)
		if e.Type == "date_time" {
			assert.Equal(t, at.Unix(), e.UnixTime)
			assert.Equal(t, "t", e.DateTimeFormat)
		}
	}
	assert.ElementsMatch(t, []string{"bold", "date_time", "code", "bold"}, kinds)
}

func TestButtons(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	d.send(t, bot.Message{Text: lines("plan"), Buttons: [][]bot.Button{
		{{Label: "Thinner", Data: "p:thinner"}, {Label: "Help", URL: "https://t.me/quay_street_bot?start=help"}},
		{{Label: "Share", Share: "ribeye 1in"}, {Label: "Share any", Share: ""}},
		{{Label: "too long", Data: strings.Repeat("x", 65)}, {Label: " ", Data: "y"}},
	}})
	got := d.s.Expect(d.chat, "plan")
	require.Len(t, got.Buttons, 2)
	assert.Equal(t, "p:thinner", got.Buttons[0][0].Data)
	assert.Equal(t, "https://t.me/quay_street_bot?start=help", got.Buttons[0][1].URL)
	assert.Equal(t, "ribeye 1in", got.Buttons[1][0].SwitchInline)
	assert.True(t, got.Buttons[1][1].Switches, "an empty query is a query")
	assert.Equal(t, int64(2), d.Counts().Dropped)
	assert.Contains(t, d.log.String(), "buttons left out")
}

func TestSilentAskReplyAndReplies(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	first := d.send(t, bot.Message{Text: lines("water topped up?"), Silent: true, AskReply: true})
	got := d.s.Expect(d.chat, "water")
	assert.True(t, got.Silent)
	assert.True(t, got.ForceReply)
	d.send(t, bot.Message{Text: lines("answer"), ReplyTo: first})
	assert.Equal(t, int(first), d.s.Expect(d.chat, "answer").ReplyTo)
	d.send(t, bot.Message{Text: lines("to what is gone"), ReplyTo: 999_999})
	assert.Zero(t, d.s.Expect(d.chat, "to what is gone").ReplyTo)
	_, err := d.Send(t.Context(), d.to, bot.Message{Text: lines(" \n")})
	require.Error(t, err, "a message without content is our mistake")
}

func TestLongTextsAreSplitAtParagraphs(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	paragraph := strings.TrimSpace(strings.Repeat("𝒳 a line of twenty\n", 60)) // 60 × 20 units, 𝒳 counts two
	id := d.send(t, bot.Message{
		Text:    lines(strings.Join([]string{"A" + paragraph, "B" + paragraph, "C" + paragraph, "D" + paragraph}, "\n\n")),
		Buttons: [][]bot.Button{{{Label: "Start", Data: "s"}}}, ReplyTo: 1,
	})
	one, two := d.s.Expect(d.chat, "A"), d.s.Expect(d.chat, "D")
	assert.True(t, strings.HasPrefix(one.Text, "A") && strings.Contains(one.Text, "\n\nC"), "three paragraphs fit")
	assert.True(t, strings.HasPrefix(two.Text, "D"))
	assert.Empty(t, one.Buttons)
	assert.NotEmpty(t, two.Buttons)
	assert.Equal(t, int(id), two.ID)

	d.send(t, bot.Message{Text: lines(strings.Repeat("word ", 1900))})               // one line of 9500
	d.send(t, bot.Message{Text: lines(strings.Repeat("𝒳", 4096))})                   // no space to cut at
	d.send(t, bot.Message{Text: lines(strings.Repeat("x", 4096))})                   // fits exactly
	d.send(t, bot.Message{Text: lines(strings.Repeat("&<>\n", 1000) + "done here")}) // markup grows, text does not
	d.s.Expect(d.chat, "done here")
	var sizes []int
	for _, m := range d.s.Messages(d.chat) {
		sizes = append(sizes, len([]rune(m.Text)))
	}
	assert.Len(t, sizes, 2+3+2+1+1)
}

func TestPicturesAndFiles(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	id := d.send(t, bot.Message{Text: lines("core 55 °C after 50 min"), Picture: picture(t, 100), Buttons: [][]bot.Button{{{Label: "Back", Data: "b"}}}})
	got := d.s.Expect(d.chat, "core 55")
	assert.NotEmpty(t, got.Photo)
	assert.NotEmpty(t, got.Buttons)

	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("caption only")}))
	assert.NotEmpty(t, d.s.Expect(d.chat, "caption only").Photo)
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("another picture"), Picture: picture(t, 120)}))
	assert.NotEqual(t, got.Photo, d.s.Expect(d.chat, "another picture").Photo)

	d.send(t, bot.Message{Text: lines("your data"), File: []byte(`{"a":1}`), FileName: "export.json"})
	assert.Equal(t, "export.json", d.s.Expect(d.chat, "your data").Document)

	d.send(t, bot.Message{Text: lines(strings.Repeat("long caption\n", 100) + "end of it"), Picture: picture(t, 100)})
	last := d.s.Expect(d.chat, "end of it")
	assert.Empty(t, last.Photo, "the caption has 1024, the rest follows")
}

func TestAPictureFromBeforeTheStartIsEditedByItsCaption(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	id := d.send(t, bot.Message{Text: lines("curve"), Picture: picture(t, 100)})
	d.s.Expect(d.chat, "curve")
	require.NoError(t, d.stop())
	d.s.Tolerate(standin.UnknownMessage) // the first try, by which it finds out
	again := run(t, d.s, telegram.Config{}, idle)
	again.ready(d.s)
	require.NoError(t, again.Edit(t.Context(), d.to, id, bot.Message{Text: lines("new caption")}))
	d.s.Expect(d.chat, "new caption")
	calls := d.s.Count("editMessageText")
	require.NoError(t, again.Edit(t.Context(), d.to, id, bot.Message{Text: lines("newer caption")}))
	assert.Equal(t, calls, d.s.Count("editMessageText"), "it remembers")
}

func TestEdits(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	id := d.send(t, bot.Message{Text: lines("card"), Buttons: [][]bot.Button{{{Label: "Pull", Data: "x"}}}})
	d.s.Expect(d.chat, "card")
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("card 2")}))
	assert.Empty(t, d.s.Expect(d.chat, "card 2").Buttons, "buttons that are not given go")
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines(strings.Repeat("line\n", 1200))}))
	assert.True(t, strings.HasSuffix(d.s.Expect(d.chat, "line").Text, "\n…"), "what does not fit is cut")

	d.s.Tolerate(standin.NotModified, standin.UnknownMessage)
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("same")}))
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("same")}), "unchanged is no error")
	require.ErrorIs(t, d.Edit(t.Context(), d.to, 987_654, bot.Message{Text: lines("x")}), bot.ErrLost)
	require.ErrorIs(t, d.Edit(t.Context(), d.to, 0, bot.Message{Text: lines("x")}), bot.ErrLost)
	require.ErrorIs(t, d.Edit(t.Context(), d.to, -5, bot.Message{Text: lines("x")}), bot.ErrLost)
	m, ok := d.s.Message(standin.Message{ID: int(id), ChatID: d.chat.ID()})
	require.True(t, ok)
	d.s.DeleteMessage(m)
	require.ErrorIs(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: lines("x")}), bot.ErrLost)
}

func TestMarkupThatIsRefusedGoesAsPlainText(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	refuse := standin.Fault{Method: "sendMessage", Code: 400, Text: "Bad Request: can't parse entities: unexpected end"}
	d.s.Inject(refuse)
	id := d.send(t, bot.Message{Text: reply.Text{{{Text: "a < b", Style: reply.Strong}}}})
	got := d.s.Expect(d.chat, "a < b")
	assert.Empty(t, got.Entities)
	refuse.Method = "editMessageText"
	d.s.Inject(refuse)
	require.NoError(t, d.Edit(t.Context(), d.to, id, bot.Message{Text: reply.Text{{{Text: "c < d", Style: reply.Strong}}}}))
	assert.Empty(t, d.s.Expect(d.chat, "c < d").Entities)
	assert.Contains(t, d.log.String(), "sent as plain text")
}

func TestChatsThatAreGone(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	s := d.s
	gone := func(chat bot.ChatID, why string) {
		t.Helper()
		_, err := d.Send(t.Context(), bot.Chat{ID: chat}, bot.Message{Text: lines("hi")})
		require.ErrorIs(t, err, bot.ErrGone, why)
		_, err = d.Send(t.Context(), bot.Chat{ID: chat}, bot.Message{Text: lines("hi"), Picture: picture(t, 100)})
		require.ErrorIs(t, err, bot.ErrGone, why+", by the library's way")
	}
	s.Block(d.ann)
	gone(d.to.ID, "blocked")
	ben := s.AddUser(standin.User{FirstName: "Ben"})
	group := s.Group("Quay Street", ben)
	s.RemoveBot(ben, group)
	gone(bot.ChatID(group.ID()), "removed")
	s.Open(ben)
	s.DeleteAccount(ben)
	gone(bot.ChatID(ben.ID), "account deleted")
	s.Tolerate(standin.UnknownChat)
	gone(424242, "never met")
}

func TestAGroupThatMoved(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	group := d.s.Group("Quay Street", d.ann)
	super := d.s.Migrate(d.ann, group)
	for _, m := range []bot.Message{{Text: lines("text")}, {Text: lines("picture"), Picture: picture(t, 100)}} {
		_, err := d.Send(t.Context(), bot.Chat{ID: bot.ChatID(group.ID()), Group: true}, m)
		var moved *bot.MovedError
		require.ErrorAs(t, err, &moved)
		assert.Equal(t, bot.ChatID(super.ID()), moved.To)
	}
}

func TestTopics(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	forum := d.s.Forum("Quay Street", d.ann)
	d.s.SendText(d.ann, forum, "hello") // takes id 1, which the General topic has for real
	topic := d.s.Topic(d.ann, forum, "bags")
	to := bot.Chat{ID: bot.ChatID(forum.ID()), Group: true, Topic: topic}
	_, err := d.Send(t.Context(), to, bot.Message{Text: lines("in the topic")})
	require.NoError(t, err)
	assert.Equal(t, topic, d.s.Expect(forum, "in the topic").Thread)
	to.Topic = 1
	_, err = d.Send(t.Context(), to, bot.Message{Text: lines("in General")})
	require.NoError(t, err)
	assert.Zero(t, d.s.Expect(forum, "in General").Thread)
	d.s.Tolerate(standin.UnknownMessage)
	to.Topic = 77_777
	_, err = d.Send(t.Context(), to, bot.Message{Text: lines("topic is gone")})
	require.NoError(t, err)
	assert.Zero(t, d.s.Expect(forum, "topic is gone").Thread)
}

func TestAdmin(t *testing.T) {
	d := newDesk(t, telegram.Config{})
	ben, cem := d.s.AddUser(standin.User{FirstName: "Ben"}), d.s.AddUser(standin.User{FirstName: "Cem"})
	group := d.s.Supergroup("Quay Street", d.ann, ben, cem)
	d.s.MakeAdmin(cem, group, standin.Rights{})
	chat := bot.Chat{ID: bot.ChatID(group.ID()), Group: true}
	for name, tt := range map[string]struct {
		chat   bot.Chat
		person bot.PersonID
		want   bool
	}{
		"the owner":          {chat, bot.PersonID(d.ann.ID), true},
		"an administrator":   {chat, bot.PersonID(cem.ID), true},
		"a member":           {chat, bot.PersonID(ben.ID), false},
		"the group itself":   {chat, bot.PersonID(group.ID()), true},
		"a channel":          {chat, -1009999, false},
		"one's private chat": {d.to, bot.PersonID(d.ann.ID), true},
	} {
		got, err := d.Admin(t.Context(), tt.chat, tt.person)
		require.NoError(t, err, name)
		assert.Equal(t, tt.want, got, name)
	}
	calls := d.s.Count("getChatMember")
	_, err := d.Admin(t.Context(), chat, bot.PersonID(cem.ID))
	require.NoError(t, err)
	assert.Equal(t, calls, d.s.Count("getChatMember"), "asked once")
}

func TestInlineResults(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	group := s.Group("Quay Street", ann)
	var edited bot.MessageID
	var failed error
	done := make(chan struct{})
	run(t, s, telegram.Config{}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			switch in.Kind {
			case bot.Inline:
				if in.Text == "nothing" {
					return a.Results(ctx, in.InlineID, nil)
				}
				return a.Results(ctx, in.InlineID, []bot.Result{{
					ID: "1", Title: "<Ribeye>", Description: "water at 55.5 °C",
					Message: bot.Message{Text: reply.Text{{{Text: "Ribeye <3", Style: reply.Strong}}}, Buttons: [][]bot.Button{{{Label: "Thicker", Data: "t"}, {Label: "Share", Share: ""}}}},
				}})
			case bot.Press:
				edited = in.Message
				failed = a.Edit(ctx, in.Chat, in.Message, bot.Message{Text: lines("thicker now")})
				close(done)
				return a.Notice(ctx, in.PressID, "")
			}
			return nil
		}
	})
	q, err := s.WaitForResults(s.Ask(ann, "ribeye 1in"), patience)
	require.NoError(t, err)
	assert.Equal(t, 1, q.CacheTime)
	assert.True(t, q.Personal)
	assert.Equal(t, "<Ribeye>", q.Results[0].Title)
	m := s.Choose(q, "1", group)
	assert.Equal(t, "Ribeye <3", m.Text)
	cb, err := s.WaitForAnswer(s.Press(ann, m, "Thicker"), patience)
	require.NoError(t, err)
	assert.NotEmpty(t, cb.InlineID)
	<-done
	require.NoError(t, failed)
	assert.Negative(t, edited)
	now, _ := s.Message(m)
	assert.Equal(t, "thicker now", now.Text)
	q, err = s.WaitForResults(s.Ask(ann, "nothing"), patience)
	require.NoError(t, err)
	assert.Empty(t, q.Results)
}

func TestEveryPressIsAnswered(t *testing.T) {
	now := time.Now()
	s := standin.New(t, func(c *standin.Config) { c.Now = func() time.Time { return now } })
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	chat := s.Private(ann)
	r := run(t, s, telegram.Config{}, func(a *telegram.Adapter) handlerFunc {
		return func(ctx context.Context, in bot.Incoming) error {
			switch {
			case in.Kind == bot.Text:
				_, err := a.Send(ctx, in.Chat, bot.Message{Text: lines("card"), Buttons: [][]bot.Button{
					{{Label: "Says", Data: "says"}, {Label: "Forgets", Data: "forgets"}, {Label: "Fails", Data: "fails"}, {Label: "Breaks", Data: "breaks"}}}})
				return err
			case in.Data == "says":
				return a.Notice(ctx, in.PressID, strings.Repeat("é", 300))
			case in.Data == "fails":
				return assert.AnError
			case in.Data == "breaks":
				panic("broken by " + in.From.Name)
			}
			return nil
		}
	})
	s.SendText(ann, chat, "hi")
	card := s.Expect(chat, "card")
	for _, label := range []string{"Says", "Forgets", "Fails", "Breaks"} {
		cb, err := s.WaitForAnswer(s.Press(ann, card, label), patience)
		require.NoError(t, err, label)
		if label == "Says" {
			assert.Equal(t, strings.Repeat("é", 199)+"…", cb.Text)
		}
	}
	_, err := s.WaitForAnswer(s.PressData(ann, chat, 4000, "forgets"), patience)
	require.NoError(t, err, "under a message that is gone")
	assert.Empty(t, s.UnansweredCallbacks())
	require.Eventually(t, func() bool { return s.Pending() == 0 }, patience, time.Millisecond)
	assert.Equal(t, 5, s.Count("answerCallbackQuery"), "each once")
	require.NoError(t, r.Notice(t.Context(), s.Callbacks()[0].ID, "again"), "too late is no error")
	assert.NotContains(t, r.log.String(), "broken by Ann")
}

package telegram_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// listen starts a bot that records, and gives a function that waits for the next thing that comes in
// after a marker: what is for nobody shows as the marker coming next.
type listener struct {
	t    *testing.T
	s    *standin.Server
	rec  recorder
	read int
	ann  *standin.User
}

func listen(t *testing.T, opts ...standin.Option) *listener {
	t.Helper()
	l := &listener{t: t, s: standin.New(t, opts...)}
	l.ann = l.s.AddUser(standin.User{FirstName: "Ann", LastName: "Lee", LanguageCode: "pt-br"})
	run(t, l.s, telegram.Config{}, l.rec.handler)
	return l
}

func (l *listener) next() bot.Incoming {
	l.t.Helper()
	list := l.rec.wait(l.t, l.read+1)
	l.read++
	return list[l.read-1]
}

// nothing fails if anything came in before a marker message. Updates of different chats are handled in
// parallel, so it waits for the queue to be confirmed first.
func (l *listener) nothing() {
	l.t.Helper()
	require.Eventually(l.t, func() bool { return l.s.Pending() == 0 }, patience, 2*time.Millisecond)
	assert.Len(l.t, l.rec.all(), l.read, "something came in: %+v", l.rec.all()[l.read:])
}

func TestPrivateMessages(t *testing.T) {
	l := listen(t)
	chat := l.s.Private(l.ann)
	m := l.s.SendText(l.ann, chat, "ribeye 450 g")
	in := l.next()
	assert.Equal(t, bot.Incoming{
		Kind: bot.Text, Key: fmt.Sprint("m", m.ID), At: time.Unix(m.SentAt.Unix(), 0), Text: "ribeye 450 g", Message: bot.MessageID(m.ID),
		Chat: bot.Chat{ID: bot.ChatID(l.ann.ID)}, From: bot.Person{ID: bot.PersonID(l.ann.ID), Name: "Ann Lee", Language: "pt-br"},
	}, in)

	for typed, want := range map[string]string{
		"/START":                          "/start",
		"/start cmliZXll_-0":              "/start cmliZXll_-0",
		"/Cook@Quay_Street_BOT  Ribeye 2": "/cook Ribeye 2",
		"/cook@quay_street_bot":           "/cook",
		"Größe 𝒳 /cook":                   "Größe 𝒳 /cook",
		"𝒳é /cook@quay_street_bot steak":  "/cook 𝒳é steak",
		"no command":                      "no command",
	} {
		l.s.SendText(l.ann, chat, typed)
		assert.Equal(t, want, l.next().Text, typed)
	}
	l.s.SendText(l.ann, chat, "/cook@another_bot steak")
	l.nothing()

	edit := l.s.SendText(l.ann, chat, "first")
	l.next()
	l.s.EditText(edit, "second")
	in = l.next()
	assert.Equal(t, bot.Edited, in.Kind)
	assert.Equal(t, "second", in.Text)
	assert.Equal(t, bot.MessageID(edit.ID), in.Message)
	assert.NotEqual(t, fmt.Sprint("m", edit.ID), in.Key)

	l.s.SendPhoto(l.ann, chat, picture(t, 90), "")
	assert.Equal(t, bot.Other, l.next().Kind)
	l.s.SendPhoto(l.ann, chat, picture(t, 90), "/Cook@Quay_street_bot ribeye")
	in = l.next()
	assert.Equal(t, bot.Text, in.Kind)
	assert.Equal(t, "/cook ribeye", in.Text)
	l.s.SendLocation(l.ann, chat, standin.Location{Latitude: 59.4, Longitude: 24.7})
	in = l.next()
	assert.Equal(t, bot.Place, in.Kind)
	assert.InDelta(t, 59.4, in.Latitude, 1e-9, "passed through")
	assert.InDelta(t, 24.7, in.Longitude, 1e-9, "passed through")
}

// In a group the bot hears only what is meant for it, also when an administrator lets it hear all.
func TestGroups(t *testing.T) {
	for name, all := range map[string]bool{"privacy mode": false, "all messages": true} {
		t.Run(name, func(t *testing.T) {
			l := listen(t, func(c *standin.Config) { c.ReadsAllGroupMessages = all })
			ben := l.s.AddUser(standin.User{FirstName: "Ben"})
			other := l.s.AddUser(standin.User{FirstName: "Other", Username: "another_bot", IsBot: true})
			group := l.s.Supergroup("Quay Street", l.ann, ben, other)
			l.s.SendText(l.ann, group, "what is for lunch")
			l.s.SendText(l.ann, group, "/cook@another_bot ribeye")
			l.s.SendText(other, group, "/cook@quay_street_bot ribeye")
			talk := l.s.SendText(ben, group, "chicken?")
			l.s.SendText(l.ann, group, "yes", standin.ReplyTo(talk))
			l.s.SendPhoto(l.ann, group, picture(t, 90), "lunch")
			l.s.SendLocation(l.ann, group, standin.Location{Latitude: 1, Longitude: 1})
			l.nothing()

			l.s.SendText(l.ann, group, "/bags@QUAY_STREET_BOT")
			in := l.next()
			assert.Equal(t, "/bags", in.Text)
			assert.Equal(t, bot.Chat{ID: bot.ChatID(group.ID()), Group: true, Title: "Quay Street"}, in.Chat)
			l.s.SendText(l.ann, group, "please /cook@quay_street_bot ribeye")
			assert.Equal(t, "/cook please ribeye", l.next().Text)

			l.s.SendText(l.ann, group, "/log@quay_street_bot 58 C", standin.Anonymous())
			in = l.next()
			assert.Equal(t, bot.Person{ID: bot.PersonID(group.ID()), Name: "Quay Street"}, in.From)

			l.s.Join(l.s.AddUser(standin.User{FirstName: "Dee"}), group)
			l.nothing()
		})
	}
}

func TestRepliesToTheBotInAGroup(t *testing.T) {
	s := standin.New(t)
	ann := s.AddUser(standin.User{FirstName: "Ann"})
	group := s.Group("Quay Street", ann)
	var rec recorder
	r := run(t, s, telegram.Config{}, rec.handler)
	r.ready(s)
	id, err := r.Send(t.Context(), bot.Chat{ID: bot.ChatID(group.ID()), Group: true}, bot.Message{Text: lines("plan")})
	require.NoError(t, err)
	s.SendText(ann, group, "3 cm", standin.ReplyTo(s.Expect(group, "plan")))
	in := rec.wait(t, 1)[0]
	assert.Equal(t, id, in.ReplyTo)
	assert.True(t, in.ToBot)
	assert.Equal(t, "3 cm", in.Text)
}

func TestIncomingTopics(t *testing.T) {
	l := listen(t)
	forum := l.s.Forum("Quay Street", l.ann)
	l.s.SendText(l.ann, forum, "/bags")
	assert.Zero(t, l.next().Chat.Topic, "the General topic")
	topic := l.s.Topic(l.ann, forum, "bags")
	l.s.SendText(l.ann, forum, "/bags", standin.InTopic(topic))
	in := l.next()
	assert.Equal(t, topic, in.Chat.Topic)
	assert.Zero(t, in.ReplyTo)
}

func TestPresses(t *testing.T) {
	l := listen(t)
	chat := l.s.Open(l.ann)
	cb := l.s.PressData(l.ann, chat, 4711, "forged")
	in := l.next()
	assert.Equal(t, bot.Press, in.Kind)
	assert.Equal(t, "p"+cb.ID, in.Key)
	assert.Equal(t, cb.ID, in.PressID)
	assert.Equal(t, "forged", in.Data)
	assert.Equal(t, bot.MessageID(4711), in.Message, "of a message that is gone the id is left")
	assert.Equal(t, bot.ChatID(chat.ID()), in.Chat.ID)
	assert.WithinDuration(t, time.Now(), in.At, time.Minute, "a press has no date: it is now")
}

func TestComingsAndGoings(t *testing.T) {
	l := listen(t)
	group := l.s.EmptyGroup("Quay Street", l.ann)
	l.s.AddBot(l.ann, group, "kitchen1")
	in := l.next()
	assert.Equal(t, bot.Joined, in.Kind)
	assert.Equal(t, "Quay Street", in.Chat.Title)
	in = l.next()
	assert.Equal(t, "/start kitchen1", in.Text)
	l.s.Promote(l.ann, group, standin.Rights{})
	l.s.Demote(l.ann, group)
	l.nothing()
	l.s.RemoveBot(l.ann, group)
	assert.Equal(t, bot.Left, l.next().Kind)

	l.s.Open(l.ann)
	l.s.Block(l.ann)
	in = l.next()
	assert.Equal(t, bot.Left, in.Kind)
	assert.False(t, in.Chat.Group)
	l.s.Unblock(l.ann)
	assert.Equal(t, bot.Joined, l.next().Kind)

	group = l.s.Group("Pier", l.ann)
	super := l.s.Migrate(l.ann, group)
	one, two := l.next(), l.next()
	for _, in := range []bot.Incoming{one, two} {
		assert.Equal(t, bot.Migrated, in.Kind)
		assert.Equal(t, bot.ChatID(group.ID()), in.Chat.ID)
		assert.Equal(t, bot.ChatID(super.ID()), in.MovedTo)
	}
	assert.Equal(t, one.Key, two.Key, "both sides tell of one event")
}

// What the stand-in's people cannot do comes as raw updates.
func TestUpdatesThatAreNotForUs(t *testing.T) {
	l := listen(t)
	const ann = `"from":{"id":7,"is_bot":false,"first_name":"Ann"}`
	const private = `"chat":{"id":7,"type":"private","first_name":"Ann"}`
	for name, body := range map[string]string{
		"a channel's post":           `"channel_post":{"message_id":1,"date":1,"chat":{"id":-1001,"type":"channel","title":"News"},"text":"/help"}`,
		"a message of a channel":     `"message":{"message_id":1,"date":1,"chat":{"id":-1001,"type":"channel","title":"News"},"text":"/help"}`,
		"another bot":                `"message":{"message_id":1,"date":1,"from":{"id":8,"is_bot":true,"first_name":"B"},` + private + `,"text":"hi"}`,
		"our own inline result":      `"message":{"message_id":1,"date":1,` + ann + `,` + private + `,"via_bot":{"id":4242424242,"is_bot":true,"first_name":"S"},"text":"Ribeye"}`,
		"a forwarded channel post":   `"message":{"message_id":1,"date":1,"is_automatic_forward":true,"sender_chat":{"id":-1001,"type":"channel","title":"News"},"chat":{"id":-5,"type":"supergroup","title":"Q"},"text":"/help"}`,
		"nobody":                     `"message":{"message_id":1,"date":1,` + private + `,"text":"hi"}`,
		"a moving location":          `"edited_message":{"message_id":1,"date":1,"edit_date":2,` + ann + `,` + private + `,"location":{"latitude":1,"longitude":2}}`,
		"a pinned message":           `"message":{"message_id":1,"date":1,` + ann + `,` + private + `,"pinned_message":{"message_id":1,"date":0,` + private + `}}`,
		"the bot put into a channel": `"my_chat_member":{"chat":{"id":-1001,"type":"channel","title":"News"},` + ann + `,"date":1,"old_chat_member":{"status":"left","user":{"id":4242424242,"is_bot":true,"first_name":"S"}},"new_chat_member":{"status":"member","user":{"id":4242424242,"is_bot":true,"first_name":"S"}}}`,
		"a kind that is new":         `"telepathy":{"thought":"steak"}`,
		"no kind at all":             `"x":1`,
	} {
		l.s.EnqueueRaw(7, body)
		l.nothing()
		if t.Failed() {
			t.Fatal(name)
		}
	}
	l.s.EnqueueRaw(7, `"message":{"message_id":9,"date":1,`+ann+`,`+private+`,"voice":{"file_id":"x","file_unique_id":"y","duration":1}}`)
	assert.Equal(t, bot.Other, l.next().Kind, "a voice message gets a kind word")
	l.s.EnqueueRaw(7, `"message":{"message_id":9,"date":1,`+ann+`,`+private+`,"venue":{"location":{"latitude":1.5,"longitude":2},"title":"Pier","address":"Quay"}}`)
	assert.Equal(t, bot.Place, l.next().Kind)
	l.s.EnqueueRaw(7, `"message":{"message_id":9,"date":1,"from":{"id":136817688,"is_bot":true,"first_name":"Channel"},"sender_chat":{"id":-1002,"type":"channel","title":"Chef"},"chat":{"id":-5,"type":"supergroup","title":"Q"},"text":"/help","entities":[{"type":"bot_command","offset":0,"length":5}]}`)
	assert.Equal(t, bot.Person{ID: -1002, Name: "Chef"}, l.next().From, "one who writes as a channel is that channel")
	l.s.EnqueueRaw(7, `"message":{"message_id":9,"date":1,`+ann+`,`+private+`,"text":"ab","entities":[{"type":"bot_command","offset":90,"length":-5}]}`)
	l.next() // offsets out of range do no harm
}

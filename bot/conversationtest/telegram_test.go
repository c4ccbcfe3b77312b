package conversationtest_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	conversation "bagwatch/bot/conversationtest"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
)

// telegramStage plays a script by people of the stand-in, who talk to the bot through the adapter.
type telegramStage struct {
	*world
	server  *standin.Server
	adapter *telegram.Adapter
	bot     *bot.Bot
	setting conversation.Setting

	people map[string]*standin.User
	groups map[string]*standin.Chat
	topics map[string]int // "kitchen#topic"
	names  map[int64]string
	chats  []*standin.Chat
	seen   map[*standin.Chat]int // events read

	members map[*standin.Chat]map[*standin.User]bool

	who   *standin.User
	chat  *standin.Chat
	topic int
	query standin.InlineQuery
}

func newTelegramStage(t *testing.T, setting conversation.Setting) *telegramStage {
	w := newWorld(t)
	s := &telegramStage{
		world: w, setting: setting, people: map[string]*standin.User{}, groups: map[string]*standin.Chat{},
		topics: map[string]int{}, names: map[int64]string{}, seen: map[*standin.Chat]int{},
		members: map[*standin.Chat]map[*standin.User]bool{},
	}
	s.server = standin.New(t, func(c *standin.Config) { c.Now = w.clock.now })
	adapter, err := telegram.New(s.server.Token(), telegram.Config{APIURL: s.server.URL(), Now: w.clock.now, Log: w.log})
	require.NoError(t, err)
	s.adapter = adapter
	s.bot = w.bot(adapter, func(payload string) string { return "https://t.me/" + standin.DefaultUsername + "?start=" + payload })
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- adapter.Run(ctx, s.bot) }()
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, <-done)
		assert.Empty(t, s.server.UnansweredCallbacks(), "every press is answered")
	})
	return s
}

func (s *telegramStage) Enter(person, kitchen, topic string) error {
	u := s.people[person]
	if u == nil {
		u = s.server.AddUser(standin.User{FirstName: person, LanguageCode: s.lang})
		s.people[person] = u
		chat := s.server.Private(u)
		s.names[chat.ID()] = person
		s.chats = append(s.chats, chat)
	}
	s.who, s.chat, s.topic = u, s.server.Private(u), 0
	if kitchen == "" {
		return nil
	}
	g := s.groups[kitchen]
	switch {
	case g != nil && !s.members[g][u]:
		s.server.Join(u, g)
	case g != nil:
	case s.setting.Late:
		g = s.server.EmptyGroup(kitchen, u)
	case topic != "":
		g = s.server.Forum(kitchen, u)
	case s.setting.Migrates:
		g = s.server.Group(kitchen, u)
	default:
		g = s.server.Supergroup(kitchen, u)
	}
	if s.members[g] == nil {
		s.members[g] = map[*standin.User]bool{}
	}
	s.members[g][u] = true
	if s.groups[kitchen] == nil {
		s.chats = append(s.chats, g)
	}
	s.groups[kitchen], s.names[g.ID()], s.chat = g, kitchen, g
	if topic != "" {
		key := kitchen + "#" + topic
		if s.topics[key] == 0 {
			s.server.SendText(u, g, "hello") // message 1, whose number stands for the General topic
			s.topics[key] = s.server.Topic(u, g, topic)
		}
		s.topic = s.topics[key]
	}
	return s.settle()
}

// options are those of a message written where the person is.
func (s *telegramStage) options(more ...standin.WriteOption) []standin.WriteOption {
	if s.topic != 0 {
		more = append(more, standin.InTopic(s.topic))
	}
	return more
}

// settle waits until the bot has handled everything.
func (s *telegramStage) settle() error {
	deadline := time.Now().Add(patience)
	for s.server.Pending() > 0 {
		if time.Now().After(deadline) {
			return errors.New("the bot does not confirm its updates")
		}
		time.Sleep(time.Millisecond)
	}
	return nil
}

func (s *telegramStage) Act(verb, rest string) ([]string, error) {
	handled, err := s.common(verb, rest)
	if err != nil {
		return nil, err
	}
	var notices []conversation.Shown
	if !handled {
		if notices, err = s.do(verb, rest); err != nil {
			return nil, err
		}
	}
	if err := s.settle(); err != nil {
		return nil, err
	}
	return conversation.Render(append(notices, s.shown()...)), nil
}

func (s *telegramStage) do(verb, rest string) ([]conversation.Shown, error) {
	oldest := false
	if r, ok := strings.CutPrefix(rest, "oldest "); ok {
		rest, oldest = r, true
	}
	switch verb {
	case ">":
		s.server.SendText(s.who, s.chat, rest, s.options()...)
	case "fill":
		text, err := filled(rest)
		if err != nil {
			return nil, err
		}
		for _, chunk := range conversation.Chunks(text, 4096) {
			s.server.SendText(s.who, s.chat, chunk, s.options()...)
		}
	case "reply":
		m, ok := s.find(oldest, func(m standin.Message) bool { return m.ByBot })
		if !ok {
			return nil, errAction
		}
		s.server.SendText(s.who, s.chat, rest, s.options(standin.ReplyTo(m))...)
	case "edit":
		m, ok := s.find(false, func(m standin.Message) bool { return !m.ByBot && m.From == s.who.FirstName })
		if !ok {
			return nil, errAction
		}
		s.server.EditText(m, rest)
	case "press":
		return s.press(rest, oldest)
	case "photo":
		s.server.SendPhoto(s.who, s.chat, onePixel(), "", s.options()...)
	case "place":
		var at standin.Location
		if _, err := fmt.Sscan(rest, &at.Latitude, &at.Longitude); err != nil {
			return nil, err
		}
		s.server.SendLocation(s.who, s.chat, at, s.options()...)
	case "ask":
		return s.ask(rest)
	case "choose":
		n, err := strconv.Atoi(rest)
		q, werr := s.server.WaitForResults(s.query, patience)
		if err != nil || werr != nil || n < 1 || n > len(q.Results) {
			return nil, errors.Join(errAction, err, werr)
		}
		s.server.Choose(q, q.Results[n-1].ID, s.chat)
	case "join":
		if s.chat == s.server.Private(s.who) {
			s.server.Unblock(s.who)
		} else {
			s.server.AddBot(s.who, s.chat, "")
		}
	case "leave":
		if s.chat == s.server.Private(s.who) {
			s.server.Block(s.who)
		} else {
			s.server.RemoveBot(s.who, s.chat)
		}
	case "migrate":
		now := s.server.Migrate(s.who, s.chat)
		name := s.names[s.chat.ID()]
		s.groups[name], s.names[now.ID()], s.members[now] = now, name, s.members[s.chat]
		s.chats = append(s.chats, now)
		s.chat = now
	default:
		return nil, errAction
	}
	return nil, nil
}

// find gives the newest message of the chat that fits, or the oldest.
func (s *telegramStage) find(oldest bool, fits func(standin.Message) bool) (found standin.Message, ok bool) {
	for _, m := range s.server.Messages(s.chat) {
		if fits(m) {
			found, ok = m, true
			if oldest {
				break
			}
		}
	}
	return found, ok
}

// press presses a button and gives the notice over it.
func (s *telegramStage) press(label string, oldest bool) ([]conversation.Shown, error) {
	var cb standin.Callback
	if data, forged := strings.CutPrefix(label, "data:"); forged {
		m, _ := s.find(false, func(m standin.Message) bool { return m.ByBot })
		cb = s.server.PressData(s.who, s.chat, m.ID, data)
	} else {
		m, ok := s.find(oldest, func(m standin.Message) bool { _, has := m.Button(label); return has })
		if !ok {
			return nil, nil
		}
		switch b, _ := m.Button(label); {
		case b.Switches:
			return s.ask(b.SwitchInline)
		case b.URL != "":
			u, err := url.Parse(b.URL)
			if err != nil {
				return nil, err
			}
			s.server.StartLink(s.who, u.Query().Get("start"))
			return nil, nil
		}
		cb = s.server.Press(s.who, m, label)
	}
	cb, err := s.server.WaitForAnswer(cb, patience)
	if err != nil || cb.Text == "" {
		return nil, err
	}
	return []conversation.Shown{{How: "notice", Lines: []string{cb.Text}}}, nil
}

func (s *telegramStage) ask(text string) ([]conversation.Shown, error) {
	s.query = s.server.Ask(s.who, text)
	q, err := s.server.WaitForResults(s.query, patience)
	if err != nil {
		return nil, err
	}
	out := conversation.Shown{How: "inline"}
	for i, r := range q.Results {
		out.Lines = append(out.Lines, fmt.Sprintf("%d. %s: %s", i+1, r.Title, r.Description))
	}
	return []conversation.Shown{out}, nil
}

// shown is what the bot did since the last look, in all chats.
func (s *telegramStage) shown() []conversation.Shown {
	var out []conversation.Shown
	for _, chat := range s.chats {
		events := s.server.Events(chat)
		for _, e := range events[s.seen[chat]:] {
			how := ""
			switch e.Kind {
			case standin.Sent:
			case standin.Edited:
				how = "edited"
			default:
				continue
			}
			one := conversation.Shown{How: how}
			if e.Message.Photo != "" {
				one.Lines = append(one.Lines, "(picture)")
			}
			if e.Message.Document != "" {
				one.Lines = append(one.Lines, "("+e.Message.Document+")")
			}
			one.Lines = append(one.Lines, strings.Split(e.Message.Text, "\n")...)
			if chat != s.chat || e.Message.Thread != s.topic {
				one.Where = s.names[chat.ID()]
				for key, thread := range s.topics {
					if thread == e.Message.Thread {
						one.Where = key
					}
				}
			}
			for _, row := range e.Message.Buttons {
				var labels []string
				for _, b := range row {
					labels = append(labels, b.Text)
				}
				one.Lines = append(one.Lines, conversation.Row(labels))
			}
			out = append(out, one)
		}
		s.seen[chat] = len(events)
	}
	return out
}

func onePixel() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err) // into memory
	}
	return b.Bytes()
}

func TestConversationsOnTelegram(t *testing.T) {
	if *update {
		t.Skip("the terminal writes the expectations")
	}
	for _, file := range scripts(t) {
		for _, script := range file.Scripts {
			t.Run(script.Name, func(t *testing.T) {
				t.Parallel()
				_, diffs, err := script.Play(newTelegramStage(t, script.Setting()))
				require.NoError(t, err)
				for _, d := range diffs {
					assert.Fail(t, "the bot said something else", "%s", d)
				}
			})
		}
	}
}

package bot

import (
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"log/slog"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/phrase"
	"bagwatch/internal/reply"
	"bagwatch/internal/store"
)

// Config tunes a bot. The zero value is usable, but for a Log.
type Config struct {
	// Log takes what operators need to know: no message text, no names.
	Log *slog.Logger
	// Cached is how many chats are kept in memory; 0 means 10,000.
	Cached int
	// Burst and Every are the rate that one person is answered at: so many at once, then one in Every.
	// 0 means 20 and a second; a negative Burst sets no limit. A whole group has three times as much.
	Burst int
	Every time.Duration
	// Link gives the address that opens a private chat with the bot, which then gets "/start" and the
	// payload, of at most 64 letters of base64url. Nil, or an empty address: there is no such button.
	Link func(payload string) string
	// Painter draws the curve of a plan; nil offers no curve.
	Painter Painter
}

// Painter draws a cook as a PNG; curve.Painter is one.
type Painter interface {
	Draw(w io.Writer, pic reply.Picture) error
}

// Defaults of Config.
const (
	defaultCached = 10_000
	defaultBurst  = 20
	crowdShare    = 3 // what a group may do, in persons; house rule
)

// Bot answers what people say. It is safe for concurrent use: the chats run side by side, one chat in
// order of arrival.
type Bot struct {
	model *cook.Model
	book  *phrase.Book
	texts *reply.Library
	out   Messenger
	log   *slog.Logger
	link  func(payload string) string
	paint Painter

	chats   *chats
	limit   *limiter[PersonID]
	crowd   *limiter[ChatID] // of a whole group
	counts  *botCounters
	packer  *packer
	parsers map[string]*phrase.Parser // by language
	units   map[string]vocabulary     // by language
}

// New makes a bot that plans with model, reads with book, speaks with texts through out and keeps
// documents in s.
func New(model *cook.Model, book *phrase.Book, texts *reply.Library, s Store, out Messenger, cfg Config) *Bot {
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Cached == 0 {
		cfg.Cached = defaultCached
	}
	if cfg.Burst == 0 {
		cfg.Burst = defaultBurst
	}
	if cfg.Every == 0 {
		cfg.Every = time.Second
	}
	if cfg.Link == nil {
		cfg.Link = func(string) string { return "" }
	}
	b := &Bot{
		model: model, book: book, texts: texts, out: out, log: cfg.Log, link: cfg.Link, paint: cfg.Painter,
		chats:   newChats(s, cfg.Cached),
		limit:   newLimiter[PersonID](cfg.Burst, cfg.Every),
		crowd:   newLimiter[ChatID](crowdShare*cfg.Burst, cfg.Every/crowdShare),
		counts:  &botCounters{},
		packer:  newPacker(model.Foods()),
		parsers: map[string]*phrase.Parser{}, units: map[string]vocabulary{},
	}
	for _, tag := range texts.Tags() {
		b.parsers[tag] = book.Parser(tag)
		b.units[tag] = newVocabulary(texts.Language(tag))
	}
	return b
}

// turn is one Incoming being handled, with the chat's entry locked.
type turn struct {
	*Bot
	in    Incoming
	chat  Chat // where it is answered
	entry *entry
	lang  *reply.Language
	units reply.Units
	// unsettled is set when the chat's settings could not be read.
	unsettled bool
	// noticed is set once a press was answered.
	noticed bool
	// member is set when the person did something in a group that its document now names them for.
	member bool
	// replanned is what became of the bags when the settings changed.
	replanned []kitchen.Change
}

// Handle deals with one thing that happened. People have been told of whatever went wrong when it
// returns, so far as they could be reached; the error is for the adapter, which may try again on
// [BusyError] and must count the thing as handled otherwise. A panic is caught: the person gets an
// apology with a code that is in the log.
func (b *Bot) Handle(ctx context.Context, in Incoming) (err error) {
	home := in.Chat
	if in.Kind == Inline { // an inline query has no chat; the person's own settings apply
		home = Chat{ID: ChatID(in.From.ID)}
	}
	t := &turn{Bot: b, in: in, chat: home, lang: b.texts.Language(in.From.Language)}
	defer func() {
		if p := recover(); p != nil {
			b.log.Error("handler panicked", "chat", in.Chat.ID, "kind", in.Kind, "code", in.code(), "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
			err = t.apologise(ctx)
		}
	}()
	if in.limited() {
		if ok, tell := b.limit.allow(in.From.ID, in.At); !ok {
			return t.slow(ctx, reply.BotSlow, tell)
		}
		if in.Chat.Group {
			if ok, tell := b.crowd.allow(in.Chat.ID, in.At); !ok {
				return t.slow(ctx, reply.BotSlowgroup, tell)
			}
		}
	}
	t.entry = b.chats.lock(home.ID)
	defer func() {
		b.chats.unlock(t.entry)
		if t.member { // the other lock is taken with none held
			b.noteGroup(ctx, in)
		}
	}()
	if err := b.chats.read(ctx, t.entry, home, in.At); err != nil {
		b.log.Warn("settings not read", "chat", home.ID, "error", err)
		if !errors.Is(err, store.ErrUnavailable) {
			return t.failed(ctx, err)
		}
		t.unsettled = true
	}
	t.settle()
	err = t.route(ctx)
	if err == nil && in.Kind == Press && !t.noticed {
		err = t.notice(ctx, "")
	}
	if err != nil {
		return t.failed(ctx, err)
	}
	return nil
}

// limited tells what counts against the rates: what is typed for the bot, and presses. What people say to
// each other in a group counts nothing.
func (in Incoming) limited() bool {
	switch in.Kind {
	case Joined, Left, Migrated:
		return false
	case Text, Edited:
		return in.meant()
	case Other, Place:
		return !in.Chat.Group || in.ToBot
	}
	return true
}

// meant tells whether a text is for the bot: in a group, a command or a reply to it.
func (in Incoming) meant() bool {
	return !in.Chat.Group || in.ToBot || strings.HasPrefix(strings.TrimSpace(in.Text), "/")
}

// code is a short word by which a report finds its log line.
func (in Incoming) code() string {
	sum := crc32.ChecksumIEEE(fmt.Appendf(nil, "%d %s %d", in.Chat.ID, in.Key, in.At.UnixNano()))
	return strings.ToUpper(strconv.FormatUint(uint64(sum)%(36*36*36*36*36), 36))
}

// settle chooses language and units by the chat's settings.
func (t *turn) settle() {
	s := t.entry.doc.Settings
	t.lang = t.texts.Language(s.Language, t.in.From.Language)
	switch {
	case s.Units == kitchen.Imperial, s.Units == kitchen.UnitsUnset && imperial(t.in.From.Language) && !t.chat.Group:
		t.units = reply.Imperial
	default:
		t.units = reply.Metric
	}
}

// imperial tells whether a language tag names a country that cooks in °F and ounces.
func imperial(tag string) bool {
	tag = strings.ToUpper(strings.ReplaceAll(tag, "_", "-"))
	return strings.HasSuffix(tag, "-US") || strings.HasSuffix(tag, "-LR")
}

func (t *turn) route(ctx context.Context) error {
	switch t.in.Kind {
	case Text:
		return t.text(ctx)
	case Press:
		return t.press(ctx)
	case Inline:
		return t.inline(ctx)
	case Edited:
		return t.edited(ctx)
	case Place:
		return t.place(ctx)
	case Joined:
		return t.joined(ctx)
	case Left:
		return t.left(ctx)
	case Migrated:
		return t.migrated(ctx)
	case Other:
		if !t.chat.Group {
			return t.say(ctx, t.lang.Lines(reply.BotNotext, nil))
		}
	}
	return nil
}

// say sends a message without buttons.
func (t *turn) say(ctx context.Context, text reply.Text) error {
	_, err := t.send(ctx, Message{Text: text})
	return err
}

// send posts a message; in a group under the one that caused it.
func (t *turn) send(ctx context.Context, m Message) (MessageID, error) {
	if t.chat.Group && t.in.Kind == Text {
		m.ReplyTo = t.in.Message
	}
	id, err := t.out.Send(ctx, t.chat, m)
	if err != nil {
		return 0, fmt.Errorf("send: %w", err)
	}
	return id, nil
}

// show changes the pressed message, or sends a new one where there is none to change.
func (t *turn) show(ctx context.Context, m Message) error {
	if t.in.Kind != Press || t.in.Message == 0 {
		_, err := t.send(ctx, m)
		return err
	}
	if err := t.notice(ctx, ""); err != nil {
		return err
	}
	err := t.out.Edit(ctx, t.chat, t.in.Message, m)
	if errors.Is(err, ErrLost) && t.in.Message > 0 { // an inline message has no chat to send another to
		_, err = t.send(ctx, m)
		return err
	}
	if err != nil && !errors.Is(err, ErrLost) {
		return fmt.Errorf("edit: %w", err)
	}
	return nil
}

// notice answers a press, once.
func (t *turn) notice(ctx context.Context, text string) error {
	if t.in.Kind != Press || t.noticed {
		return nil
	}
	t.noticed = true
	if err := t.out.Notice(ctx, t.in.PressID, text); err != nil {
		return fmt.Errorf("notice: %w", err)
	}
	return nil
}

// change commits what f does to the chat's document, once for each message or press.
func (t *turn) change(ctx context.Context, f func(*kitchen.Document) error) (repeated bool, err error) {
	return t.chats.change(ctx, t.entry, t.chat, t.in.Key, t.in.At, f)
}

// slow deals with somebody who is too fast: told once, then left alone.
func (t *turn) slow(ctx context.Context, id reply.ID, tell bool) error {
	t.counts.limited.Add(1)
	switch {
	case t.in.Kind == Press:
		text := ""
		if tell {
			text = t.lang.Say(id, nil)
		}
		return t.notice(ctx, text)
	case t.in.Kind == Inline:
		return nil
	case tell:
		return t.say(ctx, t.lang.Lines(id, nil))
	}
	return nil
}

// Package bot holds the conversation: what people say and what they are answered.
//
// It knows no chat platform. An adapter (bot/telegram, bot/terminal) turns what happens into an
// [Incoming] and carries out what the bot says through a [Messenger]. Numbers come from the shared
// model (internal/cook), words from internal/reply, state from a chat's document (internal/kitchen)
// behind a small store interface. Start with [Bot.Handle].
package bot

import (
	"context"
	"time"

	"bagwatch/internal/reply"
)

// ChatID names a chat; a person's private chat has the person's own number.
type ChatID int64

// PersonID names a person.
type PersonID int64

// MessageID names a message within its chat; 0 is none.
type MessageID int64

// Kind is the kind of thing that came in.
type Kind string

// The kinds of Incoming.
const (
	Text     Kind = "text"     // Text: a message or a command; in a group only what is meant for the bot
	Press    Kind = "press"    // Data, PressID: a button under Message
	Inline   Kind = "inline"   // Text, InlineID: typed after the bot's name in any chat
	Edited   Kind = "edited"   // Text: a message was edited
	Other    Kind = "other"    // a photo, sticker, voice: nothing to read
	Place    Kind = "place"    // Latitude, Longitude
	Joined   Kind = "joined"   // the bot was added to the chat, or unblocked
	Left     Kind = "left"     // the bot was removed, or blocked
	Migrated Kind = "migrated" // the group became MovedTo
)

// Incoming is one thing that happened in a chat.
type Incoming struct {
	Kind Kind
	// Key is unique within the chat: the same thing delivered twice has the same key.
	Key string
	// At is when it was said, by the platform's clock; it is "now" for whatever it asks.
	At   time.Time
	Chat Chat
	From Person
	// Message is the message itself, or for a Press the message that carries the button.
	Message MessageID
	// ReplyTo is the message it answers; ToBot says that the bot wrote that one.
	ReplyTo MessageID
	ToBot   bool
	// Text is what was typed. A command starts with "/" and never carries the bot's own name.
	Text string
	// Data is a button's payload. It can be forged: rights are checked against Chat and From.
	Data string
	// PressID and InlineID are what Notice and Results answer.
	PressID, InlineID string
	MovedTo           ChatID
	// Latitude and Longitude are degrees, for a Place.
	Latitude, Longitude float64
}

// Chat is where something was said.
type Chat struct {
	ID    ChatID
	Group bool
	Title string
	// Topic is the thread within the chat; 0 is none.
	Topic int
}

// Person is who said it.
type Person struct {
	ID   PersonID
	Name string
	// Language is what the person's app speaks, an IETF tag; may be empty.
	Language string
}

// Message is what the bot says.
type Message struct {
	Text    reply.Text
	Buttons [][]Button
	// ReplyTo threads the message under the one that caused it; 0 is none.
	ReplyTo MessageID
	// Silent sends without a sound.
	Silent bool
	// AskReply makes the person's app open a reply to this message.
	AskReply bool
	// Picture is a PNG shown over the text, which is then its caption; nil is none.
	Picture []byte
	// File is a document named FileName sent with the text as caption; nil is none.
	File     []byte
	FileName string
}

// Button is one button; exactly one of Data, URL and Share is set.
type Button struct {
	Label string
	Data  string // at most 64 bytes
	URL   string
	Share string // opens a chat of the person's choice with this after the bot's name
}

// Result is one answer to an inline query.
type Result struct {
	ID          string // at most 64 bytes
	Title       string
	Description string
	Message     Message
}

// Messenger carries out what the bot says. Its errors tell a chat that is gone ([ErrGone]) from trouble
// that may pass.
type Messenger interface {
	// Send posts a message and gives its id.
	Send(ctx context.Context, to Chat, m Message) (MessageID, error)
	// Edit replaces a message's text and buttons. A message that already reads so is no error.
	Edit(ctx context.Context, to Chat, id MessageID, m Message) error
	// Notice answers a press, with a short text over the chat or without one.
	Notice(ctx context.Context, pressID, text string) error
	// Results answers an inline query.
	Results(ctx context.Context, inlineID string, results []Result) error
	// Admin reports whether the person runs the chat.
	Admin(ctx context.Context, chat Chat, person PersonID) (bool, error)
}

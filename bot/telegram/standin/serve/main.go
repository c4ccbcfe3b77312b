// Command serve runs the stand-in for a bot in another process and lets a script play one person.
//
// It prints one JSON line with the bot's address and token, then reads JSON lines from standard
// input, does what each says, and answers each with a JSON line. Start with the type command.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"time"

	"bagwatch/bot/telegram/standin"
)

// command is one line of input.
type command struct {
	Do      string // text, press, photo, ask, choose, toomany, badgateway, wait, messages, violations, unanswered
	Text    string // what is written, asked for, waited for, or pressed
	Picture []byte
	Message int    // id of the message to press; zero means the newest with buttons
	Method  string // of a fault
	Seconds int    // of a fault
}

// stage is the person, the chat and the last inline query.
type stage struct {
	server *standin.Server
	user   *standin.User
	chat   *standin.Chat
	query  standin.InlineQuery
}

func main() { os.Exit(run(os.Stdin, os.Stdout, os.Stderr)) }

func run(in io.Reader, out, errs io.Writer) int {
	s, err := standin.Start(standin.Config{})
	if err != nil {
		fmt.Fprintln(errs, err)
		return 1
	}
	defer s.Close()
	u := s.AddUser(standin.User{FirstName: "Ann", LanguageCode: "en"})
	st := &stage{server: s, user: u, chat: s.Private(u)}
	enc := json.NewEncoder(out)
	if err := enc.Encode(map[string]any{"url": s.URL(), "token": s.Token(), "chat": st.chat.ID()}); err != nil {
		fmt.Fprintln(errs, err)
		return 1
	}
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var c command
		var answer any
		err := json.Unmarshal(lines.Bytes(), &c)
		if err == nil {
			answer, err = st.do(c)
		}
		if err != nil {
			answer = map[string]any{"error": err.Error()}
		}
		if err := enc.Encode(answer); err != nil {
			fmt.Fprintln(errs, err)
			return 1
		}
	}
	return 0
}

// patience bounds each wait; a script that works needs milliseconds.
const patience = 10 * time.Second

func (st *stage) do(c command) (any, error) {
	s := st.server
	switch c.Do {
	case "text":
		return s.SendText(st.user, st.chat, c.Text), nil
	case "photo":
		return s.SendPhoto(st.user, st.chat, c.Picture, c.Text), nil
	case "press":
		for _, m := range s.Messages(st.chat) {
			if _, ok := m.Button(c.Text); ok && (c.Message == 0 || c.Message == m.ID) {
				return s.WaitForAnswer(s.Press(st.user, m, c.Text), patience)
			}
		}
		return nil, fmt.Errorf("no button %q", c.Text)
	case "ask":
		q, err := s.WaitForResults(s.Ask(st.user, c.Text), patience)
		st.query = q
		return q, err
	case "choose":
		return s.Choose(st.query, c.Text, st.chat), nil
	case "toomany":
		s.Inject(standin.TooMany(c.Method, c.Seconds, 1))
		return true, nil
	case "badgateway":
		s.Inject(standin.BadGateway(c.Method, 1))
		return true, nil
	case "wait":
		return s.WaitFor(st.chat, patience, func(e standin.Event) bool { return e.Message.Text == c.Text })
	case "messages":
		return s.Messages(st.chat), nil
	case "violations":
		return append([]standin.Violation{}, s.Violations()...), nil
	case "unanswered":
		return s.UnansweredCallbacks(), nil
	}
	return nil, fmt.Errorf("no command %q", c.Do)
}

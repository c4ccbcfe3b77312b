package telegram

import (
	"strings"

	"bagwatch/bot"
)

// The keyboards are our own types: the library's button always sends an empty copy_text, and leaves
// out an empty switch_inline_query, which is legal and opens the list of chats.

type keyboard struct {
	Rows [][]button `json:"inline_keyboard"`
}

type button struct {
	Text  string  `json:"text"`
	Data  string  `json:"callback_data,omitempty"`
	URL   string  `json:"url,omitempty"`
	Share *string `json:"switch_inline_query,omitempty"`
}

type forceReply struct {
	Force     bool `json:"force_reply"`
	Selective bool `json:"selective"` // only for the person that is answered
}

// Limits of inline keyboards: bytes of callback_data are the documentation's, the counts are what the
// official client library keeps; more is cut without a word.
const (
	maxData    = 64
	maxRow     = 12
	maxButtons = 300
)

// inlineKeyboard gives the buttons that can be sent, and how many cannot: without a label, with a
// payload that is too long, or beyond the counts. Nil means none is left.
func inlineKeyboard(rows [][]bot.Button) (k *keyboard, dropped int) {
	k = &keyboard{}
	total := 0
	for _, row := range rows {
		var out []button
		for _, b := range row {
			w := button{Text: strings.ToValidUTF8(b.Label, "\uFFFD")}
			switch {
			case b.Data != "":
				w.Data = b.Data
			case b.URL != "":
				w.URL = b.URL
			default:
				w.Share = &b.Share
			}
			if strings.TrimSpace(w.Text) == "" || len(w.Data) > maxData || len(out) == maxRow || total == maxButtons {
				dropped++
				continue
			}
			out = append(out, w)
			total++
		}
		if len(out) > 0 {
			k.Rows = append(k.Rows, out)
		}
	}
	if total == 0 {
		return nil, dropped
	}
	return k, dropped
}

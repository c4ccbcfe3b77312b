package telegram_test

import (
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/reply"
)

// squeezed is a text without white space, which is all that splitting may lose.
func squeezed(s string) string { return strings.Join(strings.Fields(s), "") }

func FuzzSplit(f *testing.F) {
	f.Add("one\n\ntwo\nthree", 8)
	f.Add(strings.Repeat("word ", 50), 20)
	f.Add("𝒳𝒳𝒳𝒳𝒳𝒳", 3)
	f.Add("\n \n\n", 1)
	f.Add("a\xff\xfeb", 2)
	f.Fuzz(func(t *testing.T, s string, limit int) {
		if limit < 2 || limit > 5000 {
			t.Skip("a sign of two units must fit")
		}
		text := lines(s)
		for i, l := range text { // styles travel along
			l[0].Style = reply.Style(i % 3)
		}
		var all []string
		for _, piece := range telegram.Split(text, limit, limit) {
			p := piece.String()
			assert.LessOrEqual(t, telegram.Units(p), limit)
			all = append(all, p)
		}
		assert.Equal(t, squeezed(s), squeezed(strings.Join(all, "")))
	})
}

func TestSplitPrefersParagraphsThenLinesThenWords(t *testing.T) {
	for name, tt := range map[string]struct {
		text  string
		limit int
		want  []string
	}{
		"it fits":                     {"one\n\ntwo", 8, []string{"one\n\ntwo"}},
		"the end of a paragraph":      {"aa\nbb\n\ncc\ndd", 9, []string{"aa\nbb", "cc\ndd"}},
		"the end of a line":           {"aaaa\nbbbb\ncccc", 9, []string{"aaaa\nbbbb", "cccc"}},
		"the end of a word":           {"aaaa bbbb cccc", 10, []string{"aaaa bbbb ", "cccc"}},
		"anywhere":                    {"aaaaaaaa", 3, []string{"aaa", "aaa", "aa"}},
		"never within a sign":         {"𝒳𝒳𝒳", 3, []string{"𝒳", "𝒳", "𝒳"}},
		"empty lines around are lost": {"\n\naa\n\n\nbb\n\n", 4, []string{"aa", "bb"}},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			for _, p := range telegram.Split(lines(tt.text), tt.limit, tt.limit) {
				got = append(got, p.String())
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

func FuzzHTMLHoldsNoMarkupOfOthers(f *testing.F) {
	f.Add(`<b>Ann</b> & "x" <`, uint8(1))
	f.Add("</code><script>", uint8(2))
	f.Add("&lt;\xff", uint8(3))
	f.Fuzz(func(t *testing.T, s string, style uint8) {
		got := telegram.HTML(reply.Text{{{Text: s, Style: reply.Style(style % 3)}}})
		for _, tag := range []string{"<b>", "</b>", "<code>", "</code>"} {
			got = strings.Replace(got, tag, "", 1)
		}
		assert.NotContains(t, got, "<")
		assert.NotContains(t, got, ">")
		got = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(got)
		assert.Equal(t, strings.ToValidUTF8(s, "\uFFFD"), got)
	})
}

// Offsets of entities count UTF-16 units; the standard library's encoder is the oracle.
func FuzzSlice16(f *testing.F) {
	f.Add("𝒳é /cook ribeye", 4, 5)
	f.Add("abc", 1, 1)
	f.Add("a", -3, 90)
	f.Fuzz(func(t *testing.T, s string, offset, length int) {
		if !utf8.ValidString(s) {
			t.Skip("the platform sends valid text")
		}
		start, end := telegram.Slice16(s, offset, length)
		require.True(t, 0 <= start && start <= end && end <= len(s))
		u := utf16.Encode([]rune(s))
		if offset < 0 || length < 0 || offset > len(u) || length > len(u)-offset {
			return // out of range must only do no harm
		}
		cuts := func(at int) bool {
			return at > 0 && at < len(u) && u[at-1]>>10 == 0xD800>>10 && u[at]>>10 == 0xDC00>>10
		}
		if cuts(offset) || cuts(offset+length) {
			return // between the halves of a sign there is no position
		}
		assert.Equal(t, string(utf16.Decode(u[offset:offset+length])), s[start:end])
	})
}

func TestCut(t *testing.T) {
	assert.Equal(t, "abc", telegram.Cut("abc", 3))
	assert.Equal(t, "ab…", telegram.Cut("abcd", 3))
	assert.Equal(t, "…", telegram.Cut("𝒳𝒳", 2))
}

// canned answers every call with one body.
type canned string

func (c canned) RoundTrip(r *http.Request) (*http.Response, error) {
	return &http.Response{StatusCode: 200, Body: io.NopCloser(strings.NewReader(string(c))), Request: r}, nil
}

// The quick way to read a sent message's id goes by how answers begin; any other form is read as JSON.
func TestTheIDOfASentMessage(t *testing.T) {
	for body, want := range map[string]int64{
		`{"ok":true,"result":{"message_id":77,"date":1}}`:   77,
		`{"ok":true,"result":{"message_id":77}}`:            77,
		`{"result":{"date":1,"message_id":77},"ok":true}`:   77,
		`{"ok": true, "result": {"message_id": 77, "x":1}}`: 77,
		`{"ok":true,"result":{"message_id":77,"da`:          0, // cut off
		`{"ok":true,"result":{"message_id":"x","y":{}}}`:    0,
		`{"ok":true,"result":true}`:                         0,
	} {
		a, err := telegram.New(standin.DefaultToken, telegram.Config{Transport: canned(body), Timeout: time.Second})
		require.NoError(t, err)
		ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond) // what is cut off is tried again
		id, err := a.Send(ctx, bot.Chat{ID: 7}, bot.Message{Text: lines("x")})
		cancel()
		assert.EqualValues(t, want, id, body)
		assert.Equal(t, want == 0, err != nil, body)
	}
}

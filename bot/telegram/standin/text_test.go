package standin_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
)

// shown sends HTML and returns what people see.
func shown(t *testing.T, s *standin.Server, chat *standin.Chat, html string) standin.Message {
	t.Helper()
	body, err := json.Marshal(map[string]any{"chat_id": chat.ID(), "parse_mode": "HTML", "text": html})
	require.NoError(t, err)
	r := post(t, s, "sendMessage", string(body))
	require.True(t, r.OK, r.Description)
	m := s.Messages(chat)
	return m[len(m)-1]
}

func TestHTMLThatIsAllowed(t *testing.T) {
	s := standin.New(t)
	chat := s.Open(s.AddUser(standin.User{}))
	e := func(kind string, offset, length int) standin.Entity {
		return standin.Entity{Type: kind, Offset: offset, Length: length}
	}
	link := e("text_link", 0, 1)
	link.URL = "https://example.org/?a=1&b=2"
	pre := e("pre", 0, 2)
	pre.Language = "go"
	at := e("date_time", 3, 5)
	at.UnixTime, at.DateTimeFormat = 1795590000, "wDT"
	for name, tt := range map[string]struct {
		html, text string
		entities   []standin.Entity
	}{
		"no markup":              {"plain", "plain", nil},
		"references":             {"&lt;&gt;&amp;&quot;&#65;&#x42;", `<>&"AB`, nil},
		"nesting":                {"<b>a<i>b<u>c</u></i></b>", "abc", []standin.Entity{e("bold", 0, 3), e("italic", 1, 2), e("underline", 2, 1)}},
		"aliases":                {"<strong>a</strong><em>b</em><ins>c</ins><strike>d</strike><del>e</del>", "abcde", []standin.Entity{e("bold", 0, 1), e("italic", 1, 1), e("underline", 2, 1), e("strikethrough", 3, 1), e("strikethrough", 4, 1)}},
		"spoilers":               {`<tg-spoiler>a</tg-spoiler><span class="tg-spoiler">b</span>`, "ab", []standin.Entity{e("spoiler", 0, 1), e("spoiler", 1, 1)}},
		"units, not bytes":       {"🥩é<b>x</b>", "🥩éx", []standin.Entity{e("bold", 3, 1)}},
		"link with a reference":  {`<a href="https://example.org/?a=1&amp;b=2">x</a>`, "x", []standin.Entity{link}},
		"code with a language":   {`<pre><code class="language-go">ab</code></pre>`, "ab", []standin.Entity{pre}},
		"blockquotes":            {"<blockquote>a</blockquote><blockquote expandable>b<code>c</code></blockquote>", "abc", []standin.Entity{e("blockquote", 0, 1), e("expandable_blockquote", 1, 2), e("code", 2, 1)}},
		"time":                   {`at <tg-time unix="1795590000" format="wDT">22:45</tg-time>`, "at 22:45", []standin.Entity{at}},
		"white space at the end": {"\n <b> a </b>\n", "a", []standin.Entity{e("bold", 0, 1)}},
		"empty tag":              {"a<b></b>", "a", nil},
		"capital tag":            {"<B>a</B >", "a", []standin.Entity{e("bold", 0, 1)}},
		"length without markup":  {"<b>" + strings.Repeat("x", 4096) + "</b>", strings.Repeat("x", 4096), []standin.Entity{e("bold", 0, 4096)}},
	} {
		t.Run(name, func(t *testing.T) {
			m := shown(t, s, chat, tt.html)
			assert.Equal(t, tt.text, m.Text)
			assert.Equal(t, tt.entities, m.Entities)
			assert.Equal(t, tt.html, m.Source)
		})
	}
	assert.Empty(t, s.Violations())
}

// Any text, once escaped, must be shown unchanged; any text at all must get an answer.
func FuzzHTML(f *testing.F) {
	for _, seed := range []string{"plain", "<b>x</b>", "a & b < c", "<a href='x", "&#0;", "</", "<pre><code class=language-go>x</code></pre>", "\xff"} {
		f.Add(seed)
	}
	s, err := standin.Start(standin.Config{KeepMessages: 10})
	require.NoError(f, err)
	f.Cleanup(s.Close)
	chat := s.Open(s.AddUser(standin.User{}))
	escape := strings.NewReplacer("<", "&lt;", ">", "&gt;", "&", "&amp;", `"`, "&quot;")
	f.Fuzz(func(t *testing.T, text string) {
		text = strings.ToValidUTF8(text, "?")
		raw, err := json.Marshal(text)
		require.NoError(t, err)
		post(t, s, "sendMessage", fmt.Sprintf(`{"chat_id":%d,"parse_mode":"HTML","text":%s}`, chat.ID(), raw))
		want := strings.Trim(text, " \t\r\n")
		if want == "" || len(want) > 1000 {
			return
		}
		assert.Equal(t, want, shown(t, s, chat, escape.Replace(text)).Text)
	})
}

package standin

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Entity is one MessageEntity; offset and length count UTF-16 units.
type Entity struct {
	Type           string `json:"type"`
	Offset         int    `json:"offset"`
	Length         int    `json:"length"`
	URL            string `json:"url,omitempty"`
	Language       string `json:"language,omitempty"`
	CustomEmojiID  string `json:"custom_emoji_id,omitempty"`
	UnixTime       int64  `json:"unix_time,omitempty"`
	DateTimeFormat string `json:"date_time_format,omitempty"`
}

// tagEntities maps the documented tags ("Formatting options", HTML style) to entity types.
var tagEntities = map[string]string{
	"b": "bold", "strong": "bold", "i": "italic", "em": "italic", "u": "underline", "ins": "underline",
	"s": "strikethrough", "strike": "strikethrough", "del": "strikethrough",
	"span": "spoiler", "tg-spoiler": "spoiler", "a": "text_link", "tg-emoji": "custom_emoji",
	"tg-time": "date_time", "code": "code", "pre": "pre", "blockquote": "blockquote",
}

// tagAttributes are the documented attributes of each tag.
var tagAttributes = map[string]string{
	"a": "href", "span": "class", "tg-emoji": "emoji-id", "tg-time": "unix format", "code": "class", "blockquote": "expandable",
}

// openTag is a tag that waits for its end.
type openTag struct {
	name   string
	offset int // UTF-16 units of text before it
	attrs  map[string]string
}

// htmlParser reads the HTML style. It stops with an error where the official server refuses the
// message, and collects notes where the documentation forbids what the server lets pass.
type htmlParser struct {
	in       string
	at       int
	out      strings.Builder
	units    int
	open     []openTag
	entities []Entity
	notes    []string
}

// parseHTML returns the visible text, its entities, and notes on what the documentation forbids.
func parseHTML(s string) (string, []Entity, []string, error) {
	p := &htmlParser{in: s}
	for p.at < len(p.in) {
		var err error
		switch c := p.in[p.at]; {
		case c == '&':
			p.reference()
		case c != '<':
			if c == '>' {
				p.note("> at byte %d is not escaped", p.at)
			}
			r, n := utf8.DecodeRuneInString(p.in[p.at:])
			p.emit(r)
			p.at += n
		case strings.HasPrefix(p.in[p.at:], "</"):
			err = p.endTag()
		default:
			err = p.startTag()
		}
		if err != nil {
			return "", nil, p.notes, err
		}
	}
	if n := len(p.open); n > 0 {
		return "", nil, p.notes, refused("Can't find end tag corresponding to start tag %q", p.open[n-1].name)
	}
	sort.SliceStable(p.entities, func(i, j int) bool {
		a, b := p.entities[i], p.entities[j]
		return a.Offset < b.Offset || a.Offset == b.Offset && a.Length > b.Length
	})
	if len(p.entities) > maxEntities {
		p.note("%d entities, at most %d count", len(p.entities), maxEntities)
	}
	return p.out.String(), p.entities, p.notes, nil
}

// markupError is a refusal in the official server's words.
type markupError string

func (e markupError) Error() string { return string(e) }

func refused(format string, args ...any) error { return markupError(fmt.Sprintf(format, args...)) }

func (p *htmlParser) note(format string, args ...any) {
	p.notes = append(p.notes, fmt.Sprintf(format, args...))
}

func (p *htmlParser) emit(r rune) {
	p.out.WriteRune(r)
	if r >= 0x10000 {
		p.units++
	}
	p.units++
}

// reference reads &lt; &gt; &amp; &quot; and numeric references; anything else stays as it is.
func (p *htmlParser) reference() {
	start := p.at
	rest := p.in[start+1:]
	end := strings.IndexFunc(rest, func(r rune) bool {
		return !(r == '#' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z')
	})
	name := rest
	if end >= 0 {
		name = rest[:end]
	}
	closed := end >= 0 && rest[end] == ';'
	var r rune
	if strings.HasPrefix(name, "#") {
		digits, base := name[1:], 10
		if strings.HasPrefix(strings.ToLower(digits), "x") {
			digits, base = digits[1:], 16
		}
		if n, err := strconv.ParseInt(digits, base, 32); err == nil && n > 0 && utf8.ValidRune(rune(n)) {
			r = rune(n)
		}
	} else {
		r = map[string]rune{"lt": '<', "gt": '>', "amp": '&', "quot": '"'}[name]
	}
	switch {
	case r == 0 && name != "" && closed:
		p.note("&%s; at byte %d is no known entity", name, start)
	case r == 0:
		p.note("& at byte %d is not escaped", start)
	case !closed:
		p.note("&%s at byte %d lacks its semicolon", name, start)
	}
	if r == 0 {
		p.emit('&')
		p.at++
		return
	}
	p.emit(r)
	p.at = start + 1 + len(name)
	if closed {
		p.at++
	}
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == 0 }

func (p *htmlParser) skipSpace() {
	for p.at < len(p.in) && isSpace(p.in[p.at]) {
		p.at++
	}
}

// word reads up to a space or one of the stop bytes.
func (p *htmlParser) word(stop string) string {
	start := p.at
	for p.at < len(p.in) && !isSpace(p.in[p.at]) && strings.IndexByte(stop, p.in[p.at]) < 0 {
		p.at++
	}
	return p.in[start:p.at]
}

func (p *htmlParser) startTag() error {
	begin := p.at
	unclosed := func() error { return refused("Unclosed start tag at byte offset %d", begin) }
	p.at++
	tag := openTag{name: strings.ToLower(p.word(">")), offset: p.units, attrs: map[string]string{}}
	if p.at == len(p.in) {
		return unclosed()
	}
	if tagEntities[tag.name] == "" {
		return refused("Unsupported start tag %q at byte offset %d", tag.name, begin)
	}
	for {
		p.skipSpace()
		if p.at == len(p.in) {
			return unclosed()
		}
		if p.in[p.at] == '>' {
			p.at++
			break
		}
		name := strings.ToLower(p.word(">=/\"'"))
		if name == "" {
			return refused("Empty attribute name in the tag %q at byte offset %d", tag.name, begin)
		}
		p.skipSpace()
		value := ""
		if p.at < len(p.in) && p.in[p.at] == '=' {
			p.at++
			p.skipSpace()
			if p.at == len(p.in) {
				return unclosed()
			}
			if q := p.in[p.at]; q == '"' || q == '\'' {
				end := strings.IndexByte(p.in[p.at+1:], q)
				if end < 0 {
					return unclosed()
				}
				value = p.unescape(p.in[p.at+1 : p.at+1+end])
				p.at += end + 2
			} else {
				value = strings.ToLower(p.word(">"))
			}
		}
		if !strings.Contains(" "+tagAttributes[tag.name]+" ", " "+name+" ") {
			p.note("tag %q has no attribute %q", tag.name, name)
		}
		tag.attrs[name] = value
	}
	if tag.name == "span" && tag.attrs["class"] != "tg-spoiler" {
		return refused("Tag %q must have class %q at byte offset %d", "span", "tg-spoiler", begin)
	}
	p.nesting(tag, begin)
	p.open = append(p.open, tag)
	return nil
}

// unescape decodes the references of an attribute value.
func (p *htmlParser) unescape(s string) string {
	inner := &htmlParser{in: s}
	for inner.at < len(inner.in) {
		if inner.in[inner.at] == '&' {
			inner.reference()
			continue
		}
		r, n := utf8.DecodeRuneInString(inner.in[inner.at:])
		inner.emit(r)
		inner.at += n
	}
	p.notes = append(p.notes, inner.notes...)
	return inner.out.String()
}

// nesting notes what the documentation forbids inside what ("Formatting options"): pre and code hold
// nothing and are held by blockquotes only, blockquotes do not nest, links, emoji and times do not
// hold each other.
func (p *htmlParser) nesting(tag openTag, begin int) {
	apart := func(name string) bool { return name == "a" || name == "tg-emoji" || name == "tg-time" }
	fixed := func(name string) bool { return name == "pre" || name == "code" }
	for i, outer := range p.open {
		language := outer.name == "pre" && tag.name == "code" && i == len(p.open)-1 && outer.offset == p.units
		switch {
		case language: // <pre><code class="language-…">
		case fixed(outer.name),
			fixed(tag.name) && outer.name != "blockquote",
			outer.name == "blockquote" && tag.name == "blockquote",
			apart(outer.name) && apart(tag.name):
			p.note("tag %q inside %q at byte %d", tag.name, outer.name, begin)
		}
	}
}

func (p *htmlParser) endTag() error {
	begin := p.at
	if len(p.open) == 0 {
		return refused("Unexpected end tag at byte offset %d", begin)
	}
	p.at += 2
	name := strings.ToLower(p.word(">"))
	p.skipSpace()
	if p.at == len(p.in) || p.in[p.at] != '>' {
		return refused("Unclosed end tag at byte offset %d", begin)
	}
	p.at++
	tag := p.open[len(p.open)-1]
	if name != tag.name {
		return refused("Unmatched end tag at byte offset %d, expected \"</%s>\", found \"</%s>\"", begin, tag.name, name)
	}
	p.open = p.open[:len(p.open)-1]
	return p.finish(tag, begin)
}

// finish turns a closed tag into an entity.
func (p *htmlParser) finish(tag openTag, begin int) error {
	e := Entity{Type: tagEntities[tag.name], Offset: tag.offset, Length: p.units - tag.offset}
	switch tag.name {
	case "a":
		e.URL = tag.attrs["href"]
		if e.URL == "" {
			p.note("link without href at byte %d", begin)
			return nil
		}
	case "tg-emoji":
		e.CustomEmojiID = tag.attrs["emoji-id"]
		if _, err := strconv.ParseInt(e.CustomEmojiID, 10, 64); err != nil {
			return refused("Invalid custom emoji identifier specified at byte offset %d", begin)
		}
	case "tg-time":
		unix, err := strconv.ParseInt(tag.attrs["unix"], 10, 64)
		if err != nil || unix <= 0 {
			return refused("Invalid date-time specified at byte offset %d", begin)
		}
		e.UnixTime, e.DateTimeFormat = unix, tag.attrs["format"]
		if !dateTimeStyle.MatchString(e.DateTimeFormat) {
			return refused("Invalid date-time format specified at byte offset %d", begin)
		}
	case "blockquote":
		if _, ok := tag.attrs["expandable"]; ok {
			e.Type = "expandable_blockquote"
		}
	case "code":
		language, ok := strings.CutPrefix(tag.attrs["class"], "language-")
		if n := len(p.open); n > 0 && p.open[n-1].name == "pre" && p.open[n-1].offset == tag.offset {
			if ok {
				p.open[n-1].attrs["language"] = language
			}
			return nil
		}
	case "pre":
		e.Language = tag.attrs["language"]
	}
	if e.Length == 0 {
		return nil
	}
	p.entities = append(p.entities, e)
	return nil
}

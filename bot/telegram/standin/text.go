package standin

import (
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// formatted reads a text or caption with its parse mode or entity list from the parameters in o.
// The entity list is under entitiesKey. A nil *apiError means the text may be used.
func (c *call) formatted(o map[string]any, text, entitiesKey string) (string, []Entity, *apiError) {
	mode := asString(o["parse_mode"])
	listed, _ := o[entitiesKey].([]any)
	switch mode {
	case "":
		entities := make([]Entity, 0, len(listed))
		for _, v := range listed {
			e := readEntity(asObject(v))
			if !entityFits(text, e) {
				c.violate(MarkupBroken, "entity %s at %d, length %d, is outside the text or splits a character", e.Type, e.Offset, e.Length)
				continue
			}
			entities = append(entities, e)
		}
		text, entities = trimmed(text, entities)
		return text, entities, nil
	case "HTML":
		if len(listed) > 0 {
			c.violate(MarkupBroken, "%s and parse_mode together: the list is ignored", entitiesKey)
		}
		plain, entities, notes, err := parseHTML(text)
		if err != nil {
			c.violate(MarkupBroken, "%s", err)
			return "", nil, badRequest("can't parse entities: %s", err)
		}
		if len(notes) > 0 {
			c.violate(MarkupBroken, "%s", strings.Join(notes, "; "))
		}
		plain, entities = trimmed(plain, entities)
		for _, e := range entities {
			if e.URL != "" {
				c.checkLink(e.URL)
			}
		}
		return plain, entities, nil
	case "MarkdownV2", "Markdown":
		c.violate(Unsupported, "parse_mode %s is not read by the stand-in", mode)
		return text, nil, nil
	}
	c.violate(SchemaBroken, "parse_mode %q", mode)
	return "", nil, badRequest("unsupported parse_mode")
}

func readEntity(o map[string]any) Entity {
	return Entity{
		Type: asString(o["type"]), Offset: int(asInt(o["offset"])), Length: int(asInt(o["length"])),
		URL: asString(o["url"]), Language: asString(o["language"]), CustomEmojiID: asString(o["custom_emoji_id"]),
		UnixTime: asInt(o["unix_time"]), DateTimeFormat: asString(o["date_time_format"]),
	}
}

// entityFits says whether an entity lies inside the text and on character borders.
func entityFits(text string, e Entity) bool {
	u := utf16.Encode([]rune(text))
	if e.Offset < 0 || e.Length <= 0 || e.Offset+e.Length > len(u) {
		return false
	}
	low := func(i int) bool { return i < len(u) && 0xDC00 <= u[i] && u[i] <= 0xDFFF }
	return !low(e.Offset) && !low(e.Offset+e.Length)
}

// trimmed cuts white space at both ends, as the official server does, and moves the entities.
func trimmed(text string, entities []Entity) (string, []Entity) {
	left := strings.TrimLeft(text, " \t\r\n")
	cut := len(text) - len(left) // these characters are one unit and one byte each
	out := strings.TrimRight(left, " \t\r\n")
	total := units(out)
	kept := entities[:0]
	for _, e := range entities {
		end := min(e.Offset+e.Length-cut, total)
		e.Offset = max(e.Offset-cut, 0)
		e.Length = end - e.Offset
		if e.Length > 0 {
			kept = append(kept, e)
		}
	}
	if len(kept) == 0 {
		kept = nil
	}
	return out, kept
}

// typedEntities finds what clients mark in text a person types: commands, mentions and hashtags.
func typedEntities(text string) []Entity {
	var out []Entity
	at := 0 // UTF-16 units before i
	before := ' '
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRuneInString(text[i:])
		kind, length := "", 0
		if !isWord(before) && before != '/' && before != '@' && before != '#' && before != '<' {
			kind, length = entityAt(text[i:])
		}
		if length > 0 {
			width := units(text[i : i+length])
			out = append(out, Entity{Type: kind, Offset: at, Length: width})
			before, _ = utf8.DecodeLastRuneInString(text[i : i+length])
			i, at = i+length, at+width
			continue
		}
		before = r
		i += n
		at += utf16.RuneLen(r)
	}
	return out
}

// entityAt is the type and byte length of an entity at the start of s.
func entityAt(s string) (string, int) {
	run := func(from int, ok func(rune) bool) int {
		end := strings.IndexFunc(s[from:], func(r rune) bool { return !ok(r) })
		if end < 0 {
			return len(s) - from
		}
		return end
	}
	ascii := func(r rune) bool { return r < utf8.RuneSelf && isWord(r) }
	switch s[0] {
	case '/':
		n := run(1, ascii)
		if n < 1 || n > 64 {
			return "", 0
		}
		end := 1 + n
		if end < len(s) && s[end] == '@' {
			if m := run(end+1, ascii); m >= 3 {
				end += 1 + m
			}
		}
		if end < len(s) && (s[end] == '/' || s[end] == '>') { // a path, not a command
			return "", 0
		}
		if r, _ := utf8.DecodeRuneInString(s[end:]); end < len(s) && isWord(r) {
			return "", 0
		}
		return "bot_command", end
	case '@':
		if n := run(1, ascii); n >= 3 {
			return "mention", 1 + n
		}
	case '#':
		if n := run(1, isWord); n >= 1 && strings.Trim(s[1:1+n], "0123456789") != "" {
			return "hashtag", 1 + n
		}
	}
	return "", 0
}

func isWord(r rune) bool {
	return r == '_' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || r >= 0x80 && unicode.IsLetter(r)
}

// span is the part of text an entity covers.
func span(text string, e Entity) string {
	u := utf16.Encode([]rune(text))
	if e.Offset < 0 || e.Offset+e.Length > len(u) {
		return ""
	}
	return string(utf16.Decode(u[e.Offset : e.Offset+e.Length]))
}

package standin

import (
	"encoding/json"
	"net/url"
	"slices"
	"strings"
)

// actions are the fields of an inline button of which exactly one must be there.
var actions = []string{
	"url", "callback_data", "web_app", "login_url", "switch_inline_query", "switch_inline_query_current_chat",
	"switch_inline_query_chosen_chat", "copy_text", "callback_game", "pay", "disabled",
}

// markup reads reply_markup. inlineOnly is for edits and inline results.
func (c *call) markup(o map[string]any, inlineOnly, private bool) (map[string]any, *apiError) {
	m := asObject(o["reply_markup"])
	if m == nil {
		return nil, nil
	}
	if rows, ok := m["inline_keyboard"]; ok {
		out, err := c.inlineKeyboard(rows)
		if out != nil && m["force_reply"] == true {
			out["force_reply"] = true
		}
		return out, err
	}
	if inlineOnly {
		c.violate(KeyboardBroken, "only an inline keyboard is possible here")
		return nil, badRequest("inline keyboard expected")
	}
	if p, ok := m["input_field_placeholder"]; ok {
		if n := units(asString(p)); n < 1 || n > maxPlaceholder {
			c.violate(LimitBroken, "input_field_placeholder has %d characters, allowed 1-%d", n, maxPlaceholder)
		}
	}
	rows, _ := m["keyboard"].([]any)
	if _, ok := m["keyboard"]; ok && len(rows) == 0 {
		c.violate(KeyboardBroken, "a reply keyboard without buttons")
	}
	for _, row := range rows {
		list, _ := row.([]any)
		for _, v := range list {
			b := asObject(v)
			text := asString(b["text"])
			if s, ok := v.(string); ok {
				text = s
			}
			if text == "" {
				c.violate(KeyboardBroken, "a reply button without text")
				return nil, badRequest("keyboard button text must be non-empty")
			}
			if b["request_location"] == true && !private {
				c.violate(KeyboardBroken, "request_location works in private chats only")
				return nil, badRequest("location can be requested in private chats only")
			}
		}
	}
	return m, nil
}

func (c *call) inlineKeyboard(rows any) (map[string]any, *apiError) {
	list, _ := rows.([]any)
	total := 0
	kept := make([]any, 0, len(list))
	for i, r := range list {
		row, _ := r.([]any)
		if len(row) == 0 {
			c.violate(KeyboardBroken, "row %d has no buttons", i)
			continue
		}
		if len(row) > maxRow {
			c.violate(KeyboardBroken, "row %d has %d buttons, those beyond %d are cut", i, len(row), maxRow)
			row = row[:maxRow]
		}
		for j, v := range row {
			if err := c.button(i, j, asObject(v)); err != nil {
				return nil, err
			}
		}
		total += len(row)
		kept = append(kept, row)
	}
	if total > maxButtons {
		c.violate(KeyboardBroken, "%d buttons, those beyond %d are cut", total, maxButtons)
	}
	if len(kept) == 0 {
		return nil, nil // an empty keyboard removes the keyboard
	}
	return map[string]any{"inline_keyboard": kept}, nil
}

func (c *call) button(i, j int, b map[string]any) *apiError {
	text := asString(b["text"])
	if strings.TrimSpace(text) == "" {
		c.violate(KeyboardBroken, "button %d,%d has no text", i, j)
		return badRequest("can't parse inline keyboard button: Field \"text\" must be non-empty")
	}
	var has []string
	for _, a := range actions {
		if _, ok := b[a]; ok {
			has = append(has, a)
		}
	}
	switch len(has) {
	case 0:
		c.violate(KeyboardBroken, "button %q has no action", text)
		return badRequest("can't parse inline keyboard button: Text buttons are unallowed in the inline keyboard")
	case 1:
	default:
		c.violate(KeyboardBroken, "button %q has %d actions (%s), allowed is one", text, len(has), strings.Join(has, ", "))
	}
	switch has[0] { // the official server takes the first, copy_text last
	case "url":
		return c.buttonURL(text, asString(b["url"]))
	case "callback_data":
		if n := len(asString(b["callback_data"])); n < 1 || n > maxCallbackData {
			c.violate(LimitBroken, "callback_data of button %q has %d bytes, allowed 1-%d", text, n, maxCallbackData)
			return badRequest("BUTTON_DATA_INVALID")
		}
	case "copy_text":
		if n := units(asString(asObject(b["copy_text"])["text"])); n < 1 || n > maxCopyText {
			c.violate(LimitBroken, "copy_text of button %q has %d characters, allowed 1-%d", text, n, maxCopyText)
			return badRequest("BUTTON_COPY_TEXT_INVALID")
		}
	case "callback_game", "pay", "login_url", "web_app":
		c.violate(Unsupported, "button %q uses %s", text, has[0])
	}
	return nil
}

func (c *call) buttonURL(text, address string) *apiError {
	u, err := url.Parse(address)
	if err != nil || !slices.Contains([]string{"http", "https", "tg"}, u.Scheme) || u.Host == "" {
		c.violate(LinkBroken, "url %q of button %q", address, text)
		return badRequest("inline keyboard button URL '%s' is invalid: Wrong HTTP URL", address)
	}
	c.checkLink(address)
	return nil
}

// checkLink judges deep links wherever they appear ("Deep linking", Bot features).
func (c *call) checkLink(address string) {
	u, err := url.Parse(address)
	if err != nil || u.Host != "t.me" && u.Host != "telegram.me" {
		return
	}
	query, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		c.violate(LinkBroken, "query of %q: %v", address, err)
		return
	}
	for _, key := range []string{"start", "startgroup"} {
		if !query.Has(key) {
			continue
		}
		p := query.Get(key)
		if key == "startgroup" && (p == "" || p == "true") {
			continue
		}
		if !startPayload.MatchString(p) {
			c.violate(LinkBroken, "%s parameter %q must be 1-64 of A-Z a-z 0-9 _ -", key, p)
		}
	}
}

// sameMarkup says whether two keyboards are the same to a reader.
func sameMarkup(a, b map[string]any) bool {
	if len(a) == 0 && len(b) == 0 {
		return true
	}
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && string(x) == string(y)
}

// setMarkup stores a keyboard with a message.
func (m *stored) setMarkup(markup map[string]any) {
	m.markup, m.ReplyMarkup = markup, nil
	rows, _ := markup["inline_keyboard"].([]any)
	if len(rows) == 0 {
		return
	}
	k := &wireKeyboard{}
	for _, r := range rows {
		var row []map[string]any
		list, _ := r.([]any)
		for _, b := range list {
			row = append(row, asObject(b))
		}
		k.Rows = append(k.Rows, row)
	}
	m.ReplyMarkup = k
}

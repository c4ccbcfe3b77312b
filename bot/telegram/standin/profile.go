package standin

import (
	"encoding/json"
)

// profile is what the bot says of itself: commands by scope and language, texts by language.
type profile struct {
	commands map[string][]any
	texts    map[string]map[string]string // field, language
}

func (p *profile) init(name string) {
	p.commands = map[string][]any{}
	p.texts = map[string]map[string]string{"name": {"": name}, "description": {}, "short_description": {}}
}

// language judges a language_code.
func (c *call) language() (string, *apiError) {
	code := c.str("language_code")
	if !languageCode.MatchString(code) {
		c.violate(LimitBroken, "language_code %q must be two letters or empty", code)
		return "", badRequest("LANG_CODE_INVALID")
	}
	return code, nil
}

// commandKey names a list of commands by scope and language.
func (s *Server) commandKey(c *call) (string, *apiError) {
	code, err := c.language()
	if err != nil {
		return "", err
	}
	scope := c.obj("scope")
	if scope == nil {
		scope = map[string]any{"type": "default"}
	}
	if id, ok := scope["chat_id"]; ok && s.chats[asInt(id)] == nil {
		c.violate(UnknownChat, "the bot has never met chat %v", id)
		return "", badRequest("chat not found")
	}
	key, e := json.Marshal(scope)
	if e != nil {
		return "", badRequest("can't parse BotCommandScope")
	}
	return code + " " + string(key), nil
}

func (s *Server) setMyCommands(c *call) (any, *apiError) {
	key, err := s.commandKey(c)
	if err != nil {
		return nil, err
	}
	list := c.list("commands")
	if n := len(list); n > maxCommands {
		c.violate(LimitBroken, "%d commands, allowed %d", n, maxCommands)
		return nil, badRequest("BOT_COMMANDS_TOO_MUCH")
	}
	seen := map[string]bool{}
	for _, v := range list {
		o := asObject(v)
		name, about := asString(o["command"]), asString(o["description"])
		if !commandName.MatchString(name) {
			c.violate(LimitBroken, "command %q must be 1-32 of a-z 0-9 _", name)
			return nil, badRequest("BOT_COMMAND_INVALID")
		}
		if seen[name] {
			c.violate(LimitBroken, "command %q appears twice", name)
		}
		seen[name] = true
		if n := units(about); n < 1 || n > maxCommandText {
			c.violate(LimitBroken, "description of command %q has %d characters, allowed 1-%d", name, n, maxCommandText)
			return nil, badRequest("BOT_COMMAND_DESCRIPTION_INVALID")
		}
	}
	s.profile.commands[key] = list
	return true, nil
}

func (s *Server) getMyCommands(c *call) (any, *apiError) {
	key, err := s.commandKey(c)
	if err != nil {
		return nil, err
	}
	if list := s.profile.commands[key]; list != nil {
		return list, nil
	}
	return []any{}, nil
}

func (s *Server) deleteMyCommands(c *call) (any, *apiError) {
	key, err := s.commandKey(c)
	if err != nil {
		return nil, err
	}
	delete(s.profile.commands, key)
	return true, nil
}

// setProfile handles setMyName and its like.
func setProfile(field string, limit int) handler {
	return func(s *Server, c *call) (any, *apiError) {
		code, err := c.language()
		if err != nil {
			return nil, err
		}
		text := c.str(field)
		if n := units(text); n > limit {
			c.violate(LimitBroken, "%s has %d characters, allowed 0-%d", field, n, limit)
			return nil, badRequest("%s is too long", field)
		}
		if field == "name" && code == "" && text == "" {
			c.violate(LimitBroken, "the default name can't be empty")
			return nil, badRequest("name must be non-empty")
		}
		s.profile.texts[field][code] = text
		return true, nil
	}
}

// getProfile handles getMyName and its like: the text of the language, else the default one.
func getProfile(field string) handler {
	return func(s *Server, c *call) (any, *apiError) {
		code, err := c.language()
		if err != nil {
			return nil, err
		}
		text := s.profile.texts[field][code]
		if text == "" {
			text = s.profile.texts[field][""]
		}
		return map[string]any{field: text}, nil
	}
}

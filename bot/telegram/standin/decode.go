package standin

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// upload is one uploaded part.
type upload struct {
	name string // file name
	data []byte
}

// call is one API call on its way through the server.
type call struct {
	method string
	params map[string]any
	files  map[string]upload
	used   map[string]bool // uploaded parts that a parameter refers to
	faults []Violation     // kind and reason only
	noLint bool            // a schema violation was found: later ones are consequences
	chatID int64
}

// violate notes that the documentation does not allow the call.
func (c *call) violate(kind Kind, format string, args ...any) {
	if c.noLint {
		return
	}
	c.faults = append(c.faults, Violation{Kind: kind, Method: c.method, Reason: fmt.Sprintf(format, args...)})
}

// errTooLarge reports a body over the upload limit.
var errTooLarge = errors.New("standin: body over the upload limit")

// decode reads a request body of any accepted encoding into c.params and c.files.
func (c *call) decode(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxFileBytes+1<<20)
	err := c.decodeBody(r)
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return errTooLarge
	}
	return err
}

func (c *call) decodeBody(r *http.Request) error {
	c.params, c.files, c.used = map[string]any{}, map[string]upload{}, map[string]bool{}
	text := map[string]string{}
	for k, v := range r.URL.Query() {
		text[k] = v[0]
	}
	kind, attrs, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	switch {
	case kind == "application/json":
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return err
		}
		if len(bytes.TrimSpace(body)) > 0 {
			if err := c.decodeJSON(body); err != nil {
				return err
			}
		}
	case strings.HasPrefix(kind, "multipart/"):
		if err := c.decodeParts(multipart.NewReader(r.Body, attrs["boundary"]), text); err != nil {
			return err
		}
	case kind == "application/x-www-form-urlencoded":
		if err := r.ParseForm(); err != nil {
			return err
		}
		for k, v := range r.PostForm {
			text[k] = v[0]
		}
	default:
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return err
		}
		if len(body) > 0 {
			return fmt.Errorf("content type %q", kind)
		}
	}
	c.fromText(text)
	return nil
}

func (c *call) decodeJSON(body []byte) error {
	if !utf8.Valid(body) {
		return errors.New("strings must be encoded in UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.UseNumber()
	if err := dec.Decode(&c.params); err != nil {
		return fmt.Errorf("can't parse JSON: %w", err)
	}
	if c.params == nil {
		c.params = map[string]any{}
	}
	for k, v := range c.params { // a JSON-serialized object is also legal inside JSON
		if s, ok := v.(string); ok && c.form(k) == formJSON {
			c.params[k] = c.nested(k, s)
		}
	}
	return nil
}

func (c *call) decodeParts(parts *multipart.Reader, text map[string]string) error {
	for first := true; ; first = false {
		part, err := parts.NextPart()
		// A call without parameters may have an empty body, without even a closing boundary.
		if err == io.EOF || first && errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return err
		}
		if part.FileName() == "" {
			text[part.FormName()] = string(data)
			continue
		}
		name := part.FormName()
		c.files[name] = upload{part.FileName(), data}
		if c.form(name) == formFile {
			c.params[name] = "attach://" + name
		}
	}
}

// form is the form of a parameter of this method; unknown ones are text.
func (c *call) form(field string) form {
	return schemas()[c.method].forms[field]
}

// fromText turns text values into JSON values by the schema's types.
func (c *call) fromText(text map[string]string) {
	for k, s := range text {
		if !utf8.ValidString(s) {
			c.violate(BadRequest, "%s is not UTF-8", k)
			s = strings.ToValidUTF8(s, "�")
		}
		var v any = s
		switch c.form(k) {
		case formInteger, formNumber:
			if _, err := strconv.ParseFloat(s, 64); err == nil {
				v = json.Number(s)
			}
		case formChat:
			if _, err := strconv.ParseInt(s, 10, 64); err == nil {
				v = json.Number(s)
			}
		case formBool:
			switch strings.ToLower(s) {
			case "true", "1", "yes":
				v = true
			case "false", "0", "no":
				v = false
			}
		case formJSON:
			v = c.nested(k, s)
		}
		c.params[k] = v
	}
}

func (c *call) nested(field, s string) any {
	dec := json.NewDecoder(strings.NewReader(s))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil {
		c.violate(SchemaBroken, "%s is not JSON: %v", field, err)
		return nil
	}
	return v
}

// lint checks the parameters against the schema.
func (c *call) lint() {
	m := schemas()[c.method]
	known := make(map[string]any, len(c.params))
	var unknown []string
	for k, v := range c.params {
		if _, ok := m.forms[k]; ok {
			known[k] = v
		} else {
			unknown = append(unknown, k)
		}
	}
	sort.Strings(unknown)
	if len(unknown) > 0 {
		c.violate(SchemaBroken, "unknown field %s", strings.Join(unknown, ", "))
	}
	if err := m.check.Validate(known); err != nil {
		c.violate(SchemaBroken, "%s", broken(err))
		c.noLint = true
	}
}

// The getters below are forgiving, since the schema has already been heard.

func (c *call) has(k string) bool { return c.params[k] != nil }

func (c *call) str(k string) string { return asString(c.params[k]) }

func (c *call) num(k string) int64 { return asInt(c.params[k]) }

func (c *call) boolean(k string) bool { b, _ := c.params[k].(bool); return b }

func (c *call) obj(k string) map[string]any { o, _ := c.params[k].(map[string]any); return o }

func (c *call) list(k string) []any { l, _ := c.params[k].([]any); return l }

func asString(v any) string { s, _ := v.(string); return s }

func asObject(v any) map[string]any { o, _ := v.(map[string]any); return o }

func asInt(v any) int64 {
	switch n := v.(type) {
	case json.Number:
		i, _ := n.Int64()
		return i
	case string:
		i, _ := strconv.ParseInt(n, 10, 64)
		return i
	}
	return 0
}

func asFloat(v any) float64 {
	n, _ := v.(json.Number)
	f, _ := n.Float64()
	return f
}

// shownBytes bounds a call in a report; house rule, a screenful.
const shownBytes = 1200

// shown is the call for a report: JSON, uploads by size, shortened.
func (c *call) shown() string {
	all := make(map[string]any, len(c.params)+len(c.files))
	for k, v := range c.params {
		all[k] = v
	}
	for k, f := range c.files {
		all[k+" (upload)"] = fmt.Sprintf("%s, %d bytes", f.name, len(f.data))
	}
	b, err := json.Marshal(all)
	if err != nil {
		return err.Error()
	}
	if len(b) > shownBytes {
		return strings.ToValidUTF8(string(b[:shownBytes]), "") + "…"
	}
	return string(b)
}

package standin

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"sort"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

//go:embed schema.json
var schemaJSON []byte

// form says how a parameter that came as text is turned into JSON.
type form int

const (
	formText form = iota
	formInteger
	formNumber
	formBool
	formChat // an integer, or a @username
	formJSON // a JSON-serialized object or array
	formFile // file_id, address, or an uploaded part shown as attach://NAME
)

// methodSchema is one method's compiled check and the forms of its parameters.
type methodSchema struct {
	check *jsonschema.Schema
	forms map[string]form
}

// schemas compiles schema.json once per process: it takes some ten milliseconds.
var schemas = sync.OnceValue(func() map[string]methodSchema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schemaJSON))
	if err != nil {
		panic("standin: schema.json is not JSON: " + err.Error())
	}
	const at = "mem:///schema.json"
	c := jsonschema.NewCompiler()
	if err := c.AddResource(at, doc); err != nil {
		panic("standin: schema.json: " + err.Error())
	}
	var file struct {
		Methods     map[string]property
		Definitions map[string]property
	}
	if err := json.Unmarshal(schemaJSON, &file); err != nil {
		panic("standin: schema.json: " + err.Error())
	}
	out := make(map[string]methodSchema, len(file.Methods))
	for name, m := range file.Methods {
		compiled, err := c.Compile(at + "#/methods/" + name)
		if err != nil {
			panic("standin: schema.json: " + name + ": " + err.Error())
		}
		forms := make(map[string]form, len(m.Properties))
		for field, p := range m.Properties {
			forms[field] = p.form(file.Definitions)
		}
		out[name] = methodSchema{compiled, forms}
	}
	return out
})

// property is the part of a schema that decides the form.
type property struct {
	Type       any
	Ref        string `json:"$ref"`
	AnyOf      []property
	Properties map[string]property
	MinLength  int
	Pattern    string
}

func (p property) form(definitions map[string]property) form {
	if p.Ref != "" {
		p = definitions[strings.TrimPrefix(p.Ref, "#/definitions/")]
	}
	switch t := p.Type.(type) {
	case []any:
		return formChat
	case string:
		switch t {
		case "integer":
			return formInteger
		case "number":
			return formNumber
		case "boolean":
			return formBool
		case "string":
			if p.MinLength > 0 || p.Pattern != "" {
				return formFile
			}
			return formText
		}
	}
	return formJSON
}

// broken says what a schema error complains about, in one line and in a stable order.
func broken(err error) string {
	var ve *jsonschema.ValidationError
	if !errors.As(err, &ve) {
		return err.Error()
	}
	printer := message.NewPrinter(language.English)
	seen := map[string]bool{}
	var lines []string
	var walk func(e *jsonschema.ValidationError)
	walk = func(e *jsonschema.ValidationError) {
		causes := e.Causes
		if _, alternatives := e.ErrorKind.(*kind.AnyOf); alternatives {
			causes = closest(causes)
		}
		if len(causes) == 0 {
			line := fmt.Sprintf("/%s: %s", strings.Join(e.InstanceLocation, "/"), e.ErrorKind.LocalizedString(printer))
			if !seen[line] {
				seen[line] = true
				lines = append(lines, line)
			}
			return
		}
		for _, cause := range causes {
			walk(cause)
		}
	}
	walk(ve)
	sort.Strings(lines)
	return strings.Join(lines, "; ")
}

// closest keeps the alternatives of an anyOf that fit best: those without a wrong "type" constant
// or a missing field if there are any, so that the report names the mistake and not each variant.
func closest(causes []*jsonschema.ValidationError) []*jsonschema.ValidationError {
	misfit := func(e *jsonschema.ValidationError) bool {
		found := false
		var walk func(*jsonschema.ValidationError, int)
		walk = func(e *jsonschema.ValidationError, depth int) {
			switch e.ErrorKind.(type) {
			case *kind.Const, *kind.Required:
				found = found || depth <= 2
			}
			for _, c := range e.Causes {
				walk(c, depth+1)
			}
		}
		walk(e, 0)
		return found
	}
	var kept []*jsonschema.ValidationError
	for _, c := range causes {
		if !misfit(c) {
			kept = append(kept, c)
		}
	}
	if len(kept) == 0 {
		return causes
	}
	return kept
}

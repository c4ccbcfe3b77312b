package locales

import (
	"io/fs"
	"path"
	"slices"
	"strings"
)

// English is the language that is always there.
const English = "en"

// Only is [FS] with English and the languages of the tags, for a program that answers one message and
// ends: a language takes some milliseconds to read. An unknown tag adds nothing.
func Only(tags ...string) fs.FS {
	only := []string{English + ".toml"}
	for _, tag := range tags {
		base, _, _ := strings.Cut(strings.ReplaceAll(strings.ToLower(tag), "_", "-"), "-")
		if name := base + ".toml"; !slices.Contains(only, name) {
			only = append(only, name)
		}
	}
	return some{only}
}

type some struct{ names []string }

// Open opens a language that is among them.
func (s some) Open(name string) (fs.File, error) {
	if !slices.Contains(s.names, name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return FS.Open(name)
}

// Glob finds the languages that are there of those asked for.
func (s some) Glob(pattern string) ([]string, error) {
	all, err := fs.Glob(FS, pattern)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(name string) bool { return !slices.Contains(s.names, path.Base(name)) }), nil
}

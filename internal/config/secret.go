package config

import (
	"fmt"
	"io"
	"log/slog"
)

// Secret is a text that is never printed: every way of printing it says only whether it is set.
type Secret struct{ text string }

// NewSecret wraps a text.
func NewSecret(text string) Secret { return Secret{text} }

// Reveal gives the text, for whoever needs it to log in.
func (s Secret) Reveal() string { return s.text }

// Set says whether there is a text.
func (s Secret) Set() bool { return s.text != "" }

// String says whether it is set.
func (s Secret) String() string {
	if s.Set() {
		return "[set]"
	}
	return "[not set]"
}

// Format prints String for every verb, %#v and %x included.
func (s Secret) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, s.String()) } // as fmt, it cannot report

// LogValue is what slog prints.
func (s Secret) LogValue() slog.Value { return slog.StringValue(s.String()) }

// MarshalText is what encoders write.
func (s Secret) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Package locales embeds the words of each language: <tag>.toml, one file a language,
// English being the source of the others. It holds no logic; reply reads the messages,
// phrase the words that people type.
package locales

import "embed"

// FS holds the language files at its root, such as en.toml.
//
//go:embed *.toml
var FS embed.FS

package store

import "time"

// ParseURL lets the tests look at what an address turns into.
var ParseURL = parseURL

// DecodeValue reads a stored value.
func DecodeValue(keys Keyring, chat ChatID, value []byte) (Document, error) {
	r, err := decode(keys, chat, value)
	return r.document(), err
}

// EncodeValue makes the value that is stored for a document.
func EncodeValue(keys Keyring, chat ChatID, doc Document, now time.Time) ([]byte, error) {
	_, value, _, err := encodeDocument(keys, chat, doc, now)
	return value, err
}

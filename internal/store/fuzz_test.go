package store_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
)

// FuzzStoredValue reads anything as a stored value: it is a document, or an error that says of which kind,
// never a panic. What is read as a document is written and read again the same.
func FuzzStoredValue(f *testing.F) {
	keys, err := store.ParseKeyring("000102030405060708090a0b0c0d0e0f101112131415161718191a1b1c1d1e1f")
	require.NoError(f, err)
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	doc := store.Document{Data: []byte("two bags"), Next: now.Add(time.Hour), Expires: now.Add(48 * time.Hour)}
	for _, ring := range []store.Keyring{{}, keys} {
		value, err := store.EncodeValue(ring, 7, doc, now)
		require.NoError(f, err)
		f.Add(value)
		f.Add(value[:len(value)-1])
		f.Add(value[:9])
	}
	f.Add([]byte{})
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 1, 1, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1})
	f.Fuzz(func(t *testing.T, value []byte) {
		got, err := store.DecodeValue(keys, 7, value)
		if err != nil {
			for _, known := range []error{store.ErrKey, store.ErrCorrupt} {
				if errors.Is(err, known) {
					return
				}
			}
			t.Fatalf("an unknown kind of error: %v", err)
		}
		again, err := store.EncodeValue(keys, 7, got, now)
		require.NoError(t, err)
		back, err := store.DecodeValue(keys, 7, again)
		require.NoError(t, err)
		require.Equal(t, string(got.Data), string(back.Data))
		require.True(t, got.Next.Equal(back.Next) && got.Expires.Equal(back.Expires))
	})
}

package store

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"strings"
)

// Keyring holds the data keys: the first seals, all open. The zero Keyring seals
// nothing and opens only what is plain.
//
// The cipher is AES-256-GCM (NIST SP 800-38D) from the standard library: no further
// module, done in hardware on the machines this runs on, and 12 bytes a document less
// than XChaCha20-Poly1305. What speaks for the latter is its long nonce: GCM with
// random 96-bit nonces is good for 2^32 messages a key (SP 800-38D, 8.3), which one
// busy server would reach in some years. So each chat gets its own key, by HKDF-Expand
// (RFC 5869) of the data key with the chat's id, and the limit holds for each chat
// alone. The nonce is the random revision (8 bytes, stored anyway) and a random salt
// (4 bytes). The chat's id, the format and the key id are authenticated as well, so a
// value moved to another chat does not open.
//
// A value written before there was a key opens without one, so that encryption can be
// switched on; [Redis.Rotate] then seals the rest. Hence whoever can write to Redis can
// still plant a plain document: the cipher keeps secrets, it does not replace access
// rules.
type Keyring struct{ keys []dataKey }

type dataKey struct {
	id     [keyIDSize]byte
	secret string
}

const (
	keySize = 32
	tagSize = 16
)

var (
	errKeyFormat = errors.New("store: a data key is 32 bytes as 64 hexadecimal digits or as base64")
	errKeyTwice  = errors.New("store: two data keys are the same")
)

// ParseKeyring reads data keys separated by commas, each 32 bytes in hexadecimal or
// base64, the sealing key first. An empty text is the zero Keyring. Errors do not
// repeat the text.
func ParseKeyring(text string) (Keyring, error) {
	var ring Keyring
	if strings.TrimSpace(text) == "" {
		return ring, nil
	}
	for i, part := range strings.Split(text, ",") {
		raw, ok := decodeKey(strings.TrimSpace(part))
		if !ok {
			return Keyring{}, fmt.Errorf("data key %d: %w", i+1, errKeyFormat)
		}
		sum := sha256.Sum256(append([]byte("bagwatch data key id\x00"), raw...))
		key := dataKey{id: [keyIDSize]byte(sum[:]), secret: string(raw)}
		if _, twice := ring.find(key.id); twice {
			return Keyring{}, fmt.Errorf("data key %d: %w", i+1, errKeyTwice)
		}
		ring.keys = append(ring.keys, key)
	}
	return ring, nil
}

func decodeKey(text string) ([]byte, bool) {
	for _, decode := range []func(string) ([]byte, error){
		hex.DecodeString, base64.StdEncoding.DecodeString, base64.RawStdEncoding.DecodeString,
		base64.URLEncoding.DecodeString, base64.RawURLEncoding.DecodeString,
	} {
		if raw, err := decode(text); err == nil && len(raw) == keySize {
			return raw, true
		}
	}
	return nil, false
}

// Len is the number of keys.
func (k Keyring) Len() int { return len(k.keys) }

// String tells how many keys there are and their ids, never the keys.
func (k Keyring) String() string {
	ids := make([]string, len(k.keys))
	for i, key := range k.keys {
		ids[i] = hex.EncodeToString(key.id[:])
	}
	return fmt.Sprintf("%d data keys %v", len(ids), ids)
}

// GoString is String, so that %#v shows no key either.
func (k Keyring) GoString() string { return k.String() }

// LogValue is String.
func (k Keyring) LogValue() slog.Value { return slog.StringValue(k.String()) }

func (k Keyring) find(id [keyIDSize]byte) (dataKey, bool) {
	for _, key := range k.keys {
		if key.id == id {
			return key, true
		}
	}
	return dataKey{}, false
}

// aead is the chat's own cipher.
func (d dataKey) aead(chat ChatID) cipher.AEAD {
	info := binary.BigEndian.AppendUint64([]byte("bagwatch document\x00"), uint64(chat))
	key, err := hkdf.Expand(sha256.New, []byte(d.secret), string(info), keySize)
	if err != nil {
		panic("store: key derivation refused a constant length")
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		panic("store: cipher refused a constant key length")
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		panic("store: no authenticated mode for the cipher")
	}
	return gcm
}

// The head of a sealed value is revision, format, key id, salt.
const sealedHead = headSize + keyIDSize + saltSize

// nonce is the revision and the salt of a head.
func nonce(head []byte) []byte {
	n := make([]byte, 0, revisionSize+saltSize)
	n = append(n, head[:revisionSize]...)
	return append(n, head[sealedHead-saltSize:sealedHead]...)
}

// associated is what is authenticated beside the body: format, key id, chat.
func associated(chat ChatID, head []byte) []byte {
	a := make([]byte, 0, 1+keyIDSize+8)
	a = append(a, head[revisionSize:headSize+keyIDSize]...)
	return binary.BigEndian.AppendUint64(a, uint64(chat))
}

// seal appends the encrypted body to the head.
func (d dataKey) seal(chat ChatID, head, body []byte) []byte {
	return d.aead(chat).Seal(head, nonce(head), body, associated(chat, head))
}

// open decrypts the body of a sealed value.
func (d dataKey) open(chat ChatID, value []byte) ([]byte, error) {
	return d.aead(chat).Open(nil, nonce(value), value[sealedHead:], associated(chat, value))
}

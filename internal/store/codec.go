package store

import (
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"time"
)

// The stored value of a document:
//
//	revision   8 bytes, big endian, never zero; plain, for save.lua to compare
//	format     1 byte, one of the constants below
//	key id     4 bytes  } sealed only
//	salt       4 bytes  }
//	body       sealed: the ciphertext and its 16-byte tag
//
// and the body: next and expires as unsigned varints of Unix milliseconds (0 = none),
// then the data. The two times are in here although Redis knows them as a score and a
// time to live, for about 12 bytes: one GET reads a whole document, the cipher vouches
// for them, and the due list can be made anew from the documents.
const (
	formatPlain  = 1
	formatSealed = 2
	// Further formats (compressed, say) take further numbers; no number is reused.
)

const (
	revisionSize = 8
	headSize     = revisionSize + 1
	keyIDSize    = 4
	saltSize     = 4
)

// record is a document with its times in the stored unit.
type record struct {
	revision      uint64
	next, expires int64
	data          []byte
}

func (r record) document() Document {
	return Document{Revision: r.revision, Data: r.data, Next: fromMillis(r.next), Expires: fromMillis(r.expires)}
}

// encode makes the stored value of a record, sealed with the first key if there is one.
func encode(keys Keyring, chat ChatID, r record) []byte {
	body := make([]byte, 0, 2*binary.MaxVarintLen64+len(r.data))
	body = binary.AppendUvarint(body, uint64(r.next))
	body = binary.AppendUvarint(body, uint64(r.expires))
	body = append(body, r.data...)

	value := make([]byte, 0, headSize+keyIDSize+saltSize+len(body)+tagSize)
	value = binary.BigEndian.AppendUint64(value, r.revision)
	if len(keys.keys) == 0 {
		return append(append(value, formatPlain), body...)
	}
	key := keys.keys[0]
	value = append(append(value, formatSealed), key.id[:]...)
	value = value[:len(value)+saltSize]
	rand.Read(value[len(value)-saltSize:])
	return key.seal(chat, value, body)
}

// decode reads a stored value. On [ErrKey] the record still has its revision, so that
// a document nobody can read can be deleted on purpose.
func decode(keys Keyring, chat ChatID, value []byte) (record, error) {
	if len(value) < headSize {
		return record{}, fmt.Errorf("%d bytes: %w", len(value), ErrCorrupt)
	}
	r := record{revision: binary.BigEndian.Uint64(value)}
	var body []byte
	switch format := value[revisionSize]; format {
	case formatPlain:
		body = value[headSize:]
	case formatSealed:
		if len(value) < headSize+keyIDSize+saltSize+tagSize {
			return r, fmt.Errorf("%d sealed bytes: %w", len(value), ErrCorrupt)
		}
		key, ok := keys.find([keyIDSize]byte(value[headSize:]))
		if !ok {
			return r, fmt.Errorf("key id %x: %w", value[headSize:headSize+keyIDSize], ErrKey)
		}
		var err error
		if body, err = key.open(chat, value); err != nil {
			return r, fmt.Errorf("key id %x does not fit: %w", key.id, ErrKey)
		}
	default:
		return r, fmt.Errorf("format %d: %w", format, ErrCorrupt)
	}
	for _, ms := range []*int64{&r.next, &r.expires} {
		v, n := binary.Uvarint(body)
		if n <= 0 || v >= maxMillis {
			return record{revision: r.revision}, fmt.Errorf("times: %w", ErrCorrupt)
		}
		*ms, body = int64(v), body[n:]
	}
	r.data = body
	return r, nil
}

// current tells whether a stored value is as encode would make it now: sealed with the
// first key, or plain if there is none.
func current(keys Keyring, value []byte) bool {
	if len(value) < headSize+keyIDSize {
		return len(keys.keys) == 0
	}
	if len(keys.keys) == 0 {
		return value[revisionSize] == formatPlain
	}
	return value[revisionSize] == formatSealed && [keyIDSize]byte(value[headSize:]) == keys.keys[0].id
}

// encodeDocument is encode for a document under a new revision. It also returns how
// long to keep it, in milliseconds, 0 for ever.
func encodeDocument(keys Keyring, chat ChatID, doc Document, now time.Time) (r record, value []byte, keep int64, err error) {
	next, expires, err := stamps(doc)
	if err != nil {
		return record{}, nil, 0, err
	}
	r = record{revision: newRevision(), next: next, expires: expires, data: doc.Data}
	return r, encode(keys, chat, r), keepFor(next, expires, now), nil
}

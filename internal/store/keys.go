package store

import (
	"strconv"
	"strings"
)

// Every Redis key. x is the partition as one hexadecimal digit, bw the prefix
// ([Config.Prefix]). All keys of a partition share the hash tag {bw:x}, so a commit
// touches one slot of a cluster; single digits spread the 16 tags over 2 to 8 nodes
// better than two-digit numbers do.
//
//	key          type    value                                  lifetime
//	{bw:x}:CHAT  string  document: see codec.go                 Document.Expires, at least MinKeep
//	{bw:x}due    zset    CHAT scored by its next event, unix ms  for ever
//	{bw:x}lease  string  the holder's name                      the lease's ttl
//	{bw:x}epoch  string  decimal counter, moved by each change   for ever
//	                     of holder
//
// The least a user of the server needs: ~{bw:* (with the prefix), and the commands
// evalsha eval get getrange set del zadd zrem zscore zrangebyscore incr scan ping hello
// info select, on a cluster also cluster|slots; config|get is used when allowed.
type keys struct{ prefix string }

func (k keys) tag(partition int) string {
	return "{" + k.prefix + ":" + strconv.FormatInt(int64(partition), 16) + "}"
}

func (k keys) doc(chat ChatID) string        { return k.tag(Partition(chat)) + ":" + chat.String() }
func (k keys) due(partition int) string      { return k.tag(partition) + "due" }
func (k keys) lease(partition int) string    { return k.tag(partition) + "lease" }
func (k keys) epoch(partition int) string    { return k.tag(partition) + "epoch" }
func (k keys) docs() (pattern string)        { return "{" + k.prefix + ":?}:*" }
func validPrefix(prefix string) (valid bool) { return !strings.ContainsAny(prefix, "{}*?[]\\ ") }

// chat is the chat of a document key, and whether the key is one.
func (k keys) chat(key string) (ChatID, bool) {
	_, id, ok := strings.Cut(key, "}:")
	n, err := strconv.ParseInt(id, 10, 64)
	if !ok || err != nil || k.doc(ChatID(n)) != key {
		return 0, false
	}
	return ChatID(n), true
}

package store_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
)

// line is a TCP line to a server that can be cut.
type line struct {
	listener net.Listener
	server   string
	dead     atomic.Bool  // new connections are dropped at once
	budget   atomic.Int64 // bytes that still go to the server before the cut; negative: no limit
	deaf     atomic.Bool  // the next answer cuts its connection instead of arriving
	sent     atomic.Int64 // bytes that went to the server
	wg       sync.WaitGroup

	mu    sync.Mutex
	conns []net.Conn
}

func newLine(t testing.TB, server string) *line {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	p := &line{listener: l, server: server}
	p.budget.Store(-1)
	p.wg.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			p.wg.Go(func() { p.serve(c) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		p.mu.Lock()
		for _, c := range p.conns {
			c.Close()
		}
		p.mu.Unlock()
		p.wg.Wait()
	})
	return p
}

func (p *line) url() string { return "redis://" + p.listener.Addr().String() }

func (p *line) serve(client net.Conn) {
	defer client.Close()
	if p.dead.Load() {
		return
	}
	server, err := net.Dial("tcp", p.server)
	if err != nil {
		return
	}
	defer server.Close()
	p.mu.Lock()
	p.conns = append(p.conns, client, server)
	p.mu.Unlock()
	var answers sync.WaitGroup
	answers.Go(func() {
		defer client.Close()
		buf := make([]byte, 4096)
		for {
			n, err := server.Read(buf)
			if err != nil || p.deaf.CompareAndSwap(true, false) {
				return
			}
			if _, err := client.Write(buf[:n]); err != nil {
				return
			}
		}
	})
	buf := make([]byte, 4096)
	for {
		n, err := client.Read(buf)
		if err != nil {
			break
		}
		left, cut := p.budget.Load(), false
		if left >= 0 {
			cut = int64(n) >= left
			n = int(min(int64(n), left))
			p.budget.Store(left - int64(n))
		}
		p.sent.Add(int64(n))
		if _, err := server.Write(buf[:n]); err != nil {
			break
		}
		if cut {
			p.dead.Store(true)
			if err := server.(*net.TCPConn).CloseWrite(); err == nil {
				client.Close()
				_, _ = io.Copy(io.Discard, server) // let the server finish what it got
			}
			break
		}
	}
	server.Close()
	answers.Wait()
}

func TestACutLineNeverLeavesHalfACommit(t *testing.T) {
	server := storetest.StartRedis(t)
	p, c := newLine(t, server.Addr), newClock()
	direct := openAt(t, server.URL, store.Config{}, c.Now)
	ctx := t.Context()
	oldNext, newNext := c.Now().Add(time.Hour), c.Now().Add(2*time.Hour)
	// attempt saves over a line that is cut after so many bytes of the command, and
	// tells how many it took, the revision before, and what the caller was told.
	attempt := func(cutAfter int64) (size int64, rev uint64, err error) {
		if doc, err := direct.Load(ctx, 1); err == nil {
			rev = doc.Revision
		}
		rev, err = direct.Save(ctx, 1, store.Document{Revision: rev, Data: []byte("old"), Next: oldNext}, store.Fence{})
		require.NoError(t, err)
		p.dead.Store(false)
		p.budget.Store(-1)
		s, err := store.Open(store.Config{URL: p.url(), Timeout: 500 * time.Millisecond}, c.Now, quiet())
		require.NoError(t, err)
		defer s.Close()
		_, err = s.Load(ctx, 1) // so that the connection is there
		require.NoError(t, err)
		before := p.sent.Load()
		p.budget.Store(cutAfter)
		_, err = s.Save(ctx, 1, store.Document{Revision: rev, Data: []byte("new"), Next: newNext}, store.Fence{})
		return p.sent.Load() - before, rev, err
	}
	size, _, err := attempt(-1)
	require.NoError(t, err)
	require.Greater(t, size, int64(100), "one command")
	applied, refused := 0, 0
	for _, cutAfter := range []int64{0, 1, size / 4, size / 3, size / 2, size * 3 / 4, size - 20, size - 2, size - 1, size} {
		_, rev, err := attempt(cutAfter)
		require.ErrorIs(t, err, store.ErrUnavailable, "after %d bytes", cutAfter)
		doc, err := direct.Load(ctx, 1)
		require.NoError(t, err)
		entries, _, err := direct.Due(ctx, all(), newNext, 10)
		require.NoError(t, err)
		require.Len(t, entries, 1)
		switch string(doc.Data) {
		case "old":
			refused++
			assert.Equal(t, rev, doc.Revision)
			assert.Equal(t, oldNext, doc.Next)
			assert.Equal(t, oldNext, entries[0].At)
		case "new":
			applied++
			assert.Equal(t, newNext, doc.Next)
			assert.Equal(t, newNext, entries[0].At)
		default:
			t.Fatalf("neither old nor new: %q", doc.Data)
		}
	}
	assert.Equal(t, 9, refused, "cut within the command")
	assert.Equal(t, 1, applied, "cut after the command, before the answer")
}

func TestALostAnswerIsAskedForAgain(t *testing.T) {
	for name, start := range servers {
		t.Run(name, func(t *testing.T) {
			url, c := start(t), newClock()
			p := newLine(t, strings.TrimPrefix(url, "redis://"))
			s := openAt(t, p.url(), store.Config{}, c.Now)
			rev, err := s.Save(t.Context(), 1, store.Document{Data: []byte("a")}, store.Fence{})
			require.NoError(t, err)
			p.deaf.Store(true)
			rev, err = s.Save(t.Context(), 1, store.Document{Revision: rev, Data: []byte("b")}, store.Fence{})
			require.NoError(t, err, "the same commit sent again is no conflict")
			require.False(t, p.deaf.Load(), "an answer was lost")
			got, err := s.Load(t.Context(), 1)
			require.NoError(t, err)
			assert.Equal(t, store.Document{Revision: rev, Data: []byte("b")}, got)

			leases, err := s.Acquire(t.Context(), "a", []int{3}, time.Hour)
			require.NoError(t, err)
			p.deaf.Store(true)
			leases, err = s.Renew(t.Context(), leases, time.Hour)
			require.NoError(t, err)
			require.Len(t, leases, 1)
			p.deaf.Store(true)
			require.NoError(t, s.Delete(t.Context(), 1, rev, store.Fence{}))
		})
	}
}

func TestAServerThatIsAwayIsReportedInTimeAndLoggedOnce(t *testing.T) {
	server := storetest.StartRedis(t)
	var log bytes.Buffer
	s, err := store.Open(store.Config{URL: server.URL, Timeout: 300 * time.Millisecond}, newClock().Now, slog.New(slog.NewTextHandler(&log, nil)))
	require.NoError(t, err)
	defer s.Close()
	ctx := t.Context()
	require.NoError(t, s.Ping(ctx))
	server.Kill()
	calls := map[string]func() error{
		"load": func() error { _, err := s.Load(ctx, 1); return err },
		"save": func() error {
			_, err := s.Save(ctx, 1, store.Document{Data: []byte("hush")}, store.Fence{})
			return err
		},
		"delete":  func() error { return s.Delete(ctx, 1, 0, store.Fence{}) },
		"due":     func() error { _, _, err := s.Due(ctx, all(), time.Now(), 5); return err },
		"acquire": func() error { _, err := s.Acquire(ctx, "a", all(), time.Second); return err },
		"renew": func() error {
			_, err := s.Renew(ctx, []store.Lease{{Fence: store.Fence{Epoch: 1}, Holder: "a"}}, time.Second)
			return err
		},
		"release": func() error {
			return s.Release(ctx, []store.Lease{{Fence: store.Fence{Epoch: 1}, Holder: "a"}})
		},
		"holders": func() error { _, err := s.Holders(ctx); return err },
		"scan":    func() error { return s.Scan(ctx, func(store.ChatID) error { return nil }) },
		"check":   func() error { _, err := s.Check(ctx); return err },
		"ping":    func() error { return s.Ping(ctx) },
	}
	for name, call := range calls {
		begin := time.Now()
		require.ErrorIs(t, call(), store.ErrUnavailable, name)
		assert.Less(t, time.Since(begin), 2*time.Second, "%s: 0.3 s and a busy machine", name)
	}
	server.Start()
	back(t, s)
	for name, call := range calls { // in any order: a conflict is an answer, too
		require.NotErrorIs(t, call(), store.ErrUnavailable, name)
	}
	assert.Equal(t, 1, strings.Count(log.String(), `msg="store unavailable"`), log.String())
	assert.Equal(t, 1, strings.Count(log.String(), `msg="store available again"`), log.String())
	assert.NotContains(t, log.String(), "hush")
}

// back waits until the client has noticed that the server answers again: once all dials
// failed it tries one a second.
func back(t *testing.T, s *store.Redis) {
	t.Helper()
	require.Eventually(t, func() bool { return s.Ping(t.Context()) == nil }, 5*time.Second, 10*time.Millisecond)
}

func TestAServerThatRefusesIsUnavailable(t *testing.T) {
	mini := miniredis.RunT(t)
	s := openAt(t, "redis://"+mini.Addr(), store.Config{Timeout: 300 * time.Millisecond}, newClock().Now)
	for _, text := range []string{
		"LOADING Redis is loading the dataset in memory",
		"READONLY You can't write against a read only replica.",
		"MISCONF Errors writing to the AOF file: No space left on device",
		"NOAUTH Authentication required.",
	} {
		mini.SetError(text)
		_, err := s.Save(t.Context(), 1, store.Document{}, store.Fence{})
		require.ErrorIs(t, err, store.ErrUnavailable, text)
		_, err = s.Load(t.Context(), 1)
		require.ErrorIs(t, err, store.ErrUnavailable, text)
		require.NotErrorIs(t, err, store.ErrNone, text)
	}
	mini.SetError("")
	_, err := s.Load(t.Context(), 1)
	require.ErrorIs(t, err, store.ErrNone)
}

func TestAKilledServerLosesNothingAcknowledged(t *testing.T) {
	server := storetest.StartRedis(t)
	c := newClock()
	s := openAt(t, server.URL, store.Config{Timeout: 500 * time.Millisecond, Keys: ring(t, "5a")}, c.Now)
	rng := rand.New(rand.NewPCG(1, 2)) // the moments of the kills
	const writers = 8
	type writer struct {
		acked, tried store.Document // the last commit that was acknowledged, and the last one sent
		commits      int
	}
	var ws [writers]writer
	for kill := range 4 {
		ctx, stop := context.WithCancel(t.Context())
		var wg sync.WaitGroup
		for i := range ws {
			w, chat := &ws[i], store.ChatID(100+i)
			wg.Go(func() {
				for ctx.Err() == nil {
					w.commits++
					w.tried = store.Document{
						Revision: w.acked.Revision, Data: fmt.Appendf(nil, "%d/%d", chat, w.commits), Next: c.Now().Add(time.Duration(w.commits) * time.Second),
					}
					rev, err := s.Save(t.Context(), chat, w.tried, store.Fence{})
					if err != nil {
						assert.ErrorIs(t, err, store.ErrUnavailable)
						return
					}
					w.acked = w.tried
					w.acked.Revision = rev
				}
			})
		}
		time.Sleep(time.Duration(100+rng.IntN(200)) * time.Millisecond)
		server.Kill()
		stop()
		wg.Wait()
		server.Start()
		back(t, s)
		entries, _, err := s.Due(t.Context(), all(), c.Now().Add(1000*time.Hour), 100)
		require.NoError(t, err)
		listed := map[store.ChatID]time.Time{}
		for _, e := range entries {
			listed[e.Chat] = e.At
		}
		for i := range ws {
			w, chat := &ws[i], store.ChatID(100+i)
			got, err := s.Load(t.Context(), chat)
			if w.acked.Revision == 0 && errors.Is(err, store.ErrNone) {
				continue // not even the first was acknowledged
			}
			require.NoError(t, err)
			if got.Revision != w.acked.Revision {
				require.Equal(t, string(w.tried.Data), string(got.Data), "kill %d: the one in flight, or nothing newer", kill)
			} else {
				require.Equal(t, w.acked, got)
			}
			require.Equal(t, got.Next, listed[chat], "the due list agrees with the document")
			w.acked = got
		}
	}
	total := 0
	for _, w := range ws {
		total += w.commits
	}
	t.Logf("%d commits over 4 kills", total)
	require.Greater(t, total, 100, "there was a load")
}

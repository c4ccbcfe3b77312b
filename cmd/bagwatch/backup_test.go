package main

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot/telegram/standin"
	"bagwatch/internal/cook"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/quantity"
	"bagwatch/internal/store"
	"bagwatch/internal/store/storetest"
	"bagwatch/locales"
)

// ribeye is a plan of the shared model.
var ribeye = sync.OnceValues(func() (*cook.Plan, error) {
	tools, err := newTools(locales.FS, nil)
	if err != nil {
		return nil, err
	}
	return tools.model.Plan(cook.Request{Food: "beef-ribeye", Thickness: quantity.Millimetres(30), Doneness: "medium-rare"})
})

// ribeyeIn is the document of a private chat with a ribeye in the bath that is past its best at a moment;
// what there was to tell before now has been told.
func ribeyeIn(t *testing.T, best, now time.Time) kitchen.Document {
	t.Helper()
	plan, err := ribeye()
	require.NoError(t, err)
	b, err := kitchen.NewBag(plan, now, kitchen.Who{ID: 1, Name: "Jonas"}, "")
	require.NoError(t, err)
	began := best.Add(-b.Times.BestBefore.Sub(b.Started)).Truncate(time.Second)
	b, err = kitchen.NewBag(plan, began, kitchen.Who{ID: 1, Name: "Jonas"}, "")
	require.NoError(t, err)
	d := kitchen.New(kitchen.Private, "")
	_, err = d.StartBag(b, began)
	require.NoError(t, err)
	_, d = kitchen.Due(d, now)
	return d
}

// keep stores a chat's document as the bot does.
func keep(t *testing.T, s *store.Redis, chat *standin.Chat, d kitchen.Document) {
	t.Helper()
	data, err := kitchen.Encode(d)
	require.NoError(t, err)
	_, err = s.Save(t.Context(), store.ChatID(chat.ID()), store.Document{
		Data: data, Next: kitchen.Next(d), Expires: kitchen.Expires(d, time.Now()),
	}, store.Fence{})
	require.NoError(t, err)
}

func openStore(t *testing.T, url, key string) *store.Redis {
	t.Helper()
	keys, err := store.ParseKeyring(key)
	require.NoError(t, err)
	s, err := store.Open(store.Config{URL: url, Keys: keys}, time.Now, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	return s
}

// The backup that the README describes: the append-only files are copied while the bot serves, and put into
// the empty data directory of a new Redis. Bags go on, and what went past meanwhile is said.
func TestABackupIsRestoredIntoANewRedis(t *testing.T) {
	data, restored := t.TempDir(), t.TempDir()
	server := storetest.StartRedis(t, "--dir", data)
	fake, vars := platform(t)
	delete(vars, "BAGWATCH_EMBEDDED")
	vars["REDIS_URL"], vars["BAGWATCH_DATA_KEY"] = server.URL, otherKey
	mara, jonas, late := fake.AddUser(standin.User{FirstName: "Mara"}), fake.AddUser(standin.User{FirstName: "Jonas"}), fake.AddUser(standin.User{FirstName: "Ada"})

	best := time.Now().Add(4 * time.Second)
	r := openStore(t, server.URL, otherKey)
	keep(t, r, fake.Open(jonas), ribeyeIn(t, best, time.Now()))
	require.NoError(t, r.Close())
	s := serve(t, vars)
	s.says("serving")
	fake.SendText(mara, fake.Private(mara), "start chicken breast 3 cm")
	fake.Expect(fake.Private(mara), "In: Chicken breast")

	_, err := server.Do("CONFIG SET auto-aof-rewrite-percentage 0") // no file is replaced while it is copied
	require.NoError(t, err)
	const dir = "appendonlydir"
	require.NoError(t, os.CopyFS(filepath.Join(restored, dir), os.DirFS(filepath.Join(data, dir))))
	_, err = server.Do("CONFIG SET auto-aof-rewrite-percentage 100")
	require.NoError(t, err)

	fake.SendText(late, fake.Private(late), "start salmon 2 cm") // after the backup: lost with the old Redis
	fake.Expect(fake.Private(late), "In: Salmon")
	require.Equal(t, exitOK, s.stop())
	server.Kill()
	require.NoError(t, fake.Quiet(fake.Private(jonas), 0), "nothing was told early")
	time.Sleep(time.Until(best) + time.Second)

	again := storetest.StartRedis(t, "--dir", restored)
	vars["REDIS_URL"] = again.URL
	s = serve(t, vars)
	s.says("serving")
	fake.Expect(fake.Private(jonas), "Ribeye: pull and eat it now", "past its time")
	fake.SendText(mara, fake.Private(mara), "/bags")
	fake.Expect(fake.Private(mara), "One bag in the bath", "Chicken breast")
	fake.SendText(late, fake.Private(late), "/bags")
	fake.Expect(fake.Private(late), "Nothing is in the bath")
	assert.NoError(t, fake.Quiet(fake.Private(jonas), 100*time.Millisecond), "told once")
	assert.Equal(t, exitOK, s.stop())
}

// Without the data key a backup opens to nobody.
func TestABackupIsOfNoUseWithoutTheKey(t *testing.T) {
	data := t.TempDir()
	server := storetest.StartRedis(t, "--dir", data)
	r := openStore(t, server.URL, otherKey)
	fake, _ := platform(t)
	now := time.Now()
	d := ribeyeIn(t, now.Add(time.Hour), now)
	d.Settings.Title = "Quay Street"
	keep(t, r, fake.Open(fake.AddUser(standin.User{FirstName: "Jonas"})), d)
	require.NoError(t, r.Close())
	server.Kill()
	var all []byte
	require.NoError(t, filepath.WalkDir(data, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		all = append(all, b...)
		return err
	}))
	require.NotEmpty(t, all)
	for _, text := range []string{"Quay Street", "Jonas", "ribeye"} {
		assert.NotContains(t, string(all), text, fmt.Sprintf("%d bytes at rest", len(all)))
	}
}

package bot_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/bot"
	"bagwatch/internal/kitchen"
	"bagwatch/internal/store"
)

const quayStreet bot.ChatID = -77

// cookIn is something a person does in the kitchen.
func (b *bench) cookIn(who bot.PersonID, name, text string) {
	in := b.in(bot.Text, who, text)
	in.Chat = bot.Chat{ID: quayStreet, Group: true, Title: "Quay Street"}
	in.From.Name = name
	require.NoError(b.t, b.Handle(b.t.Context(), in))
}

// stored is all that the store holds of a chat.
func (b *bench) stored(chat bot.ChatID) kitchen.Document {
	data, err := b.store.Memory.Load(b.t.Context(), store.ChatID(chat))
	require.NoError(b.t, err)
	doc, err := kitchen.Decode(data.Data)
	require.NoError(b.t, err)
	return doc
}

func TestAnExportHoldsOnesOwnAndNamesNobodyElse(t *testing.T) {
	b := newBench(t)
	b.cookIn(mara, "Mara", "/cook start cod 2 cm")
	b.cookIn(jonas, "Jonas", "/cook start salmon 2 cm")
	b.cookIn(jonas, "Jonas", "/cook pull cod")
	b.say("/settings 14 l")
	b.out.take()
	got := b.say("/export")
	require.Len(t, got, 1)
	var file struct {
		Own struct {
			Settings struct {
				Litres float64 `json:"bath_litres"`
			} `json:"settings"`
			Groups []int64 `json:"groups"`
		} `json:"own"`
		Kitchens []struct {
			Bags []struct {
				Starter struct {
					ID   int64  `json:"id"`
					Name string `json:"name"`
				} `json:"started_by"`
			} `json:"bags"`
		} `json:"kitchens"`
	}
	require.NoError(t, json.Unmarshal(got[0].m.File, &file))
	assert.InDelta(t, 14, file.Own.Settings.Litres, 0.05, "a tenth of a litre is kept")
	assert.Equal(t, []int64{int64(quayStreet)}, file.Own.Groups)
	require.Len(t, file.Kitchens, 1)
	require.Len(t, file.Kitchens[0].Bags, 2)
	assert.Equal(t, "Mara", file.Kitchens[0].Bags[0].Starter.Name)
	assert.Empty(t, file.Kitchens[0].Bags[1].Starter.Name)
	assert.NotContains(t, string(got[0].m.File), "Jonas")
	assert.Equal(t, "Jonas", b.stored(quayStreet).Bags[1].Starter.Name, "an export changes nothing")
}

func TestForgettingThatWasInterruptedGoesOn(t *testing.T) {
	b := newBench(t)
	b.cookIn(mara, "Mara", "/cook start cod 2 cm")
	b.cookIn(jonas, "Jonas", "/cook start salmon 2 cm")
	b.say("/settings 14 l")
	ask := b.say("/forget")[0].m
	failing := true
	press := b.in(bot.Press, mara, button(t, ask, "Yes, forget"))
	b.store.refuse = func(chat store.ChatID) error {
		if failing && chat == store.ChatID(quayStreet) {
			return store.ErrUnavailable
		}
		return nil
	}
	require.NoError(t, b.Handle(t.Context(), press))
	all := b.out.take()
	assert.Contains(t, all[len(all)-1].text, "go on with that by myself")
	assert.False(t, b.stored(bot.ChatID(mara)).Forgetting.IsZero(), "marked, for a restart to find")
	assert.Equal(t, "Mara", b.stored(quayStreet).Bags[0].Starter.Name)

	failing = false
	require.NoError(t, b.another().Forget(t.Context(), bot.ChatID(mara), b.at))
	own := b.stored(bot.ChatID(mara))
	assert.True(t, own.Forgetting.IsZero())
	assert.Zero(t, own.Settings.Litres)
	kept := b.stored(quayStreet)
	assert.Equal(t, kitchen.Who{}, kept.Bags[0].Starter)
	assert.Equal(t, "Jonas", kept.Bags[1].Starter.Name)
	assert.Error(t, b.another().Forget(t.Context(), bot.ChatID(mara), b.at), "done")
	assert.Error(t, b.another().Forget(t.Context(), quayStreet, b.at), "a kitchen is nobody")
}

func TestAGroupMayMoveTwice(t *testing.T) {
	b := newBench(t)
	b.cookIn(mara, "Mara", "/cook start cod 2 cm")
	in := b.in(bot.Migrated, mara, "")
	in.Chat, in.MovedTo = bot.Chat{ID: quayStreet, Group: true}, -100077
	for range 2 { // both sides tell of it
		require.NoError(t, b.Handle(t.Context(), in))
	}
	doc := b.stored(-100077)
	require.Len(t, doc.Running(), 1)
	assert.Equal(t, "Mara", doc.Running()[0].Starter.Name)
	_, err := b.store.Memory.Load(t.Context(), store.ChatID(quayStreet))
	assert.ErrorIs(t, err, store.ErrNone)
}

func TestNamesAreCleanedBeforeTheyAreKept(t *testing.T) {
	b := newBench(t)
	b.cookIn(mara, "  Ma\u202Era\u200B\n"+strings.Repeat("x", 200), "/cook start cod 2 cm")
	name := b.stored(quayStreet).Bags[0].Starter.Name
	assert.True(t, strings.HasPrefix(name, "Mara xxx"), name)
	assert.LessOrEqual(t, len([]rune(name)), 40)
}

package kitchen_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bagwatch/internal/kitchen"
)

func TestRememberedIsTheNewestThatSaysSomething(t *testing.T) {
	d := kitchen.Document{Log: []kitchen.Cook{
		{Bag: 1, Food: "cod", Rating: kitchen.TooSoft}, {Bag: 2, Food: "cod", Note: "lemon"}, {Bag: 3, Food: "cod"}, {Bag: 4, Food: "egg"},
	}}
	c, ok := d.Remembered("cod")
	require.True(t, ok)
	assert.Equal(t, kitchen.BagID(2), c.Bag)
	_, ok = d.Remembered("egg")
	assert.False(t, ok, "nobody said anything of it")
	c, ok = d.Cook(3)
	require.True(t, ok)
	assert.Equal(t, kitchen.BagID(3), c.Bag)
	_, ok = d.Cook(9)
	assert.False(t, ok)
}

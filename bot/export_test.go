package bot

import (
	"bagwatch/internal/cook"
	"bagwatch/internal/food"
)

// Pack packs a request with the catalogue's foods.
func Pack(foods *food.Catalogue, r cook.Request) string { return newPacker(foods).pack(r) }

// Unpack undoes Pack.
func Unpack(foods *food.Catalogue, s string) (cook.Request, error) { return newPacker(foods).unpack(s) }

package bot

import (
	"strconv"
	"strings"

	"bagwatch/internal/kitchen"
)

// bagVerb is what a bag's button does with it.
type bagVerb string

// bagPull takes the bag out. Only append verbs, and never change one: old buttons stay on screens.
const bagPull bagVerb = "pull"

// bagPrefix begins the data of every bag button. What follows is verb/id: bag ids are small, so that the
// whole is far below the 64 bytes a button may carry. The id counts in the chat the button is pressed in
// and nowhere else.
const bagPrefix = "b/"

// bagData is the data of a bag's button.
func bagData(v bagVerb, id kitchen.BagID) string {
	return bagPrefix + string(v) + "/" + strconv.FormatUint(uint64(id), 10)
}

// parseBagData undoes bagData. Buttons can be forged: the id may name no bag.
func parseBagData(s string) (v bagVerb, id kitchen.BagID, ok bool) {
	rest, ok := strings.CutPrefix(s, bagPrefix)
	if !ok {
		return "", 0, false
	}
	verb, number, ok := strings.Cut(rest, "/")
	n, err := strconv.ParseUint(number, 10, 16)
	if !ok || verb == "" || err != nil || n == 0 {
		return "", 0, false
	}
	return bagVerb(verb), kitchen.BagID(n), true
}

package kitchen

import "bagwatch/internal/food"

// Ratings of a past cook: a scale from too soft to too firm, on which the middle is right. House rule; 2
// and 4 are left for "a little".
const (
	TooSoft   uint8 = 1
	JustRight uint8 = 3
	TooFirm   uint8 = MaxRating
)

// Remembered is the newest past cook of a food that somebody rated or left a note on.
func (d Document) Remembered(id food.ID) (Cook, bool) {
	for i := len(d.Log) - 1; i >= 0; i-- {
		if c := d.Log[i]; c.Food == id && (c.Rating != 0 || c.Note != "") {
			return c, true
		}
	}
	return Cook{}, false
}

// Cook finds a past cook by the id its bag had.
func (d Document) Cook(id BagID) (Cook, bool) {
	if i := d.logged(id); i >= 0 {
		return d.Log[i], true
	}
	return Cook{}, false
}

// Package phrase turns a short message ("2 ribeyes 450 g each 3 cm medium rare") into a
// [cook.Request], in any of the languages of locales/.
//
// The grammar is code and the same for all languages; every word is data. A message is
// folded (case, accents, wide and fraction characters), cut into tokens, matched against a
// tree of phrases (longest first, the chat's language first, then misspelt by a letter or
// two), and read from left to right. What is understood becomes a quantity with its unit;
// what is not is kept in [Understood.Unplaced], to be said: nothing is guessed silently.
//
// Numbers without a unit follow house rules, in this order:
//
//	2 ribeyes, 24 eggs     integer 1–39 directly before a food: a count
//	2 200 g, 2 x 200 g     integer 1–39 directly before an amount: a count, the amount is for each
//	54.5, at 57            40–100: °C of the bath
//	130                    above 100, up to 212: °F of the bath
//	6, 450                 everything else: unplaced
//
// Of a range the safe end is taken: the thicker, the heavier, the cooler, the shorter, the
// fewer. A message longer than [MaxRunes] is not read at all, and the work for one of that
// length is bounded. Start with [Load], [Book.Parser] and [Parser.Parse].
package phrase

import (
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// MaxRunes is the length of the longest message that is read. House rule.
const MaxRunes = 500

// Parser reads messages of one chat language. It may be used by many goroutines.
type Parser struct {
	book  *Book
	order []int // languages, the chat's own first
}

// Understood is what a message was taken for.
type Understood struct {
	Request cook.Request
	Food    FoodMatch
	// RefusedFood is the id of a food that is refused by name, or "". It outranks Food.
	RefusedFood string
	// RefusedTyped is how it was written.
	RefusedTyped string
	// Intent is what the sender wants, "" when no word said so: then an answer.
	Intent Intent
	// Question is set when there was a question mark.
	Question bool
	// Since is when the bag went in, ServeAt when it is to be eaten; nil means not said.
	Since, ServeAt *ClockTime
	// Ago is how long ago the bag went in, ServeIn in how long it is to be eaten; 0 means not said.
	Ago, ServeIn time.Duration
	// Guests is the number of people named; 0 means not said.
	Guests int
	// Denied holds what was said not to be so: "not frozen", "nobody pregnant".
	Denied Denied
	// Unplaced are words and numbers that were not used, in the order typed.
	Unplaced []Token
	// Problem says why no answer can be given; nil when one can be tried.
	Problem *Problem
}

// FoodMatch is the food that was recognised.
type FoodMatch struct {
	ID food.ID // "" when there is none
	// Typed is how it was written.
	Typed string
	// Vague is set when the word fits several foods; ID is then the likeliest.
	Vague bool
	// Alternatives are the others a vague word fits, likeliest first.
	Alternatives []food.ID
	// Corrected is set when the word was misspelt.
	Corrected bool
}

// Denied holds concepts that were named with a "not" before them.
type Denied struct{ AtRisk, NonIntact, Cured, Pasteurised, Start, Doneness bool }

// Intent is what a sender wants.
type Intent string

// The intents, ids of [words.intent] in the locale files.
const (
	IntentAsk      Intent = "ask"
	IntentSafe     Intent = "safe"
	IntentReady    Intent = "ready"
	IntentStart    Intent = "start"
	IntentPull     Intent = "pull"
	IntentDrop     Intent = "drop"
	IntentBags     Intent = "bags"
	IntentDinner   Intent = "dinner"
	IntentChill    Intent = "chill"
	IntentWater    Intent = "water"
	IntentFoods    Intent = "foods"
	IntentSettings Intent = "settings"
	IntentHelp     Intent = "help"
	IntentCancel   Intent = "cancel"
)

func (i Intent) known() bool {
	switch i {
	case IntentAsk, IntentSafe, IntentReady, IntentStart, IntentPull, IntentDrop, IntentBags, IntentDinner,
		IntentChill, IntentWater, IntentFoods, IntentSettings, IntentHelp, IntentCancel:
		return true
	}
	return false
}

// needsFood reports intents that are nothing without a food.
func (i Intent) needsFood() bool { return i == "" || i == IntentAsk || i == IntentStart }

// ClockTime is a time of day as typed, in the sender's zone.
type ClockTime struct {
	Hour, Minute int // 0–23, 0–59
	// Either is set when the hour may as well be twelve hours later ("at 7"): whoever knows
	// the time of day takes the one that fits.
	Either bool
}

// Token is a piece of a message that was not used.
type Token struct {
	Text string // as typed
	Why  Reason
}

// Reason says why a token was not used.
type Reason string

// The reasons. Texts for them are in the locale files.
const (
	WhyWord      Reason = "word"      // not in the vocabulary
	WhyNumber    Reason = "number"    // a number without a unit that no rule places
	WhyForm      Reason = "form"      // a number in a form that is not read, or that can be read in two ways: 1,200 g
	WhyRange     Reason = "range"     // the other end of a range; the safe end was taken
	WhySecond    Reason = "second"    // a second food, doneness, mass, …: the first (of thicknesses the larger) was taken
	WhyDimension Reason = "dimension" // a length that is not the thickness
	WhyClock     Reason = "clock"     // a time of day with no word for what happens then
	WhyDoneness  Reason = "doneness"  // a doneness that the food does not have
	WhyAmount    Reason = "amount"    // an amount that says nothing about the bath: sear 60 s
)

// ProblemID names what is wrong with a message.
type ProblemID string

// The problems and the fields of Problem they fill.
const (
	ProblemEmpty       ProblemID = "empty"        // nothing to read
	ProblemTooLong     ProblemID = "too-long"     // Count: the most runes there may be
	ProblemNoFood      ProblemID = "no-food"      // Typed: the first unknown word, if any; Suggestions
	ProblemUnlisted    ProblemID = "unlisted"     // Typed: a food that is known and not in the catalogue; Suggestions
	ProblemTwoSetpoint ProblemID = "two-setpoint" // Typed, Other: the contradicting temperatures
	ProblemNotPositive ProblemID = "not-positive" // Typed: an amount of zero or less
	ProblemTooMuch     ProblemID = "too-much"     // Typed: an amount nobody can mean
	ProblemTemperature ProblemID = "temperature"  // Typed, Temperature: no bath can have it
)

// Problem is the reason why a message has no answer, as data for one line of text.
type Problem struct {
	ID           ProblemID
	Typed, Other string
	Temperature  quantity.Temperature
	Count        int
	// Suggestions are foods whose names are near an unknown word, nearest first.
	Suggestions []food.ID
}

// The largest amounts that are read. House rule: beyond them it is a slip of the finger, and
// the model's own limits are far inside.
const (
	maxThickness quantity.Length = 1
	maxMass      quantity.Mass   = 1000
	maxPieces                    = 1000
	maxSpan                      = 60 * 24 * time.Hour
)

// maxSuggestions bounds Problem.Suggestions.
const maxSuggestions = 3

package reply

import "bagwatch/internal/dinner"

// The dinner. The comment beside each gives its placeholders.
const (
	DinnerTitle   ID = "dinner.title"   // At
	DinnerLine    ID = "dinner.line"    // Time, What
	DinnerSpan    ID = "dinner.span"    // From, To
	DinnerDone    ID = "dinner.done"    // Line
	DinnerBy      ID = "dinner.by"      // Line, Who
	DinnerAlert   ID = "dinner.alert"   // What
	DinnerAlertBy ID = "dinner.alertby" // Who, What
	DinnerBath    ID = "dinner.bath"    // Bath, What
	DinnerInBath  ID = "dinner.inbath"  // Bath, Water
	DinnerRaw     ID = "dinner.raw"     // Foods
	DinnerPlants  ID = "dinner.plants"

	DinnerHeat      ID = "dinner.step.heat"      // Water
	DinnerChange    ID = "dinner.step.change"    // Water
	DinnerIce       ID = "dinner.step.ice"       // Water, Ice
	DinnerCool      ID = "dinner.step.cool"      // Water
	DinnerIn        ID = "dinner.step.in"        // Food, Water
	DinnerOut       ID = "dinner.step.out"       // Food, Ice, Until
	DinnerReheat    ID = "dinner.step.reheat"    // Food, Water
	DinnerPull      ID = "dinner.step.pull"      // Food
	DinnerPullChill ID = "dinner.step.pullchill" // Food, Span
	DinnerChill     ID = "dinner.step.chill"     // Food, Span
	DinnerSear      ID = "dinner.step.sear"      // Food, Seconds
	DinnerSearOnly  ID = "dinner.step.searonly"  // Food, Seconds
	DinnerRest      ID = "dinner.step.rest"      // Food, Until
	DinnerServe     ID = "dinner.step.serve"

	DinnerTooLate ID = "dinner.toolate"

	DinnerMove     ID = "dinner.nearest.serve"    // At
	DinnerCut      ID = "dinner.nearest.thinner"  // Food, L
	DinnerDoneness ID = "dinner.nearest.doneness" // Food, Doneness
	DinnerWithIce  ID = "dinner.nearest.ice"
	DinnerBaths    ID = "dinner.nearest.baths"   // Count
	DinnerWithout  ID = "dinner.nearest.without" // Food
)

// The conversation about a dinner. The comment beside each gives its placeholders.
const (
	CommandDinner ID = "command.dinner"

	DinnerTakenAs   ID = "dinner.taken"     // Dishes
	DinnerTakenDish ID = "dinner.takendish" // Food, Facts
	DinnerHint      ID = "dinner.hint"
	DinnerHintgroup ID = "dinner.hintgroup"
	DinnerHow       ID = "dinner.how"
	DinnerHowgroup  ID = "dinner.howgroup"
	DinnerZone      ID = "dinner.zone"
	DinnerMany      ID = "dinner.many" // Count
	DinnerFar       ID = "dinner.far"
	DinnerOther     ID = "dinner.other" // At
	DinnerNone      ID = "dinner.none"
	DinnerGoing     ID = "dinner.going" // What
	DinnerOld       ID = "dinner.old"
	DinnerBelow     ID = "dinner.below"
	DinnerOff       ID = "dinner.off"
	DinnerOffby     ID = "dinner.offby" // Who
	DinnerNotyours  ID = "dinner.notyours"
	DinnerCalled    ID = "dinner.called"
	DinnerShifted   ID = "dinner.shifted" // At
	DinnerNew       ID = "dinner.new"     // Steps
	DinnerNotyet    ID = "dinner.notyet"  // Steps
	DinnerYours     ID = "dinner.yours"   // What
	DinnerTook      ID = "dinner.took"    // Who, What
	DinnerWas       ID = "dinner.was"     // Who
	DinnerTicked    ID = "dinner.ticked"
	DinnerNostep    ID = "dinner.nostep"
	DinnerHowlate   ID = "dinner.howlate"
	DinnerOften     ID = "dinner.often"
	DinnerLost      ID = "dinner.lost"

	ButtonDinnerGo     ID = "button.dinner.go"
	ButtonDinnerLater  ID = "button.dinner.later"  // Span
	ButtonDinnerLate   ID = "button.dinner.late"   // Span
	ButtonDinnerGuests ID = "button.dinner.guests" // Span
	ButtonDinnerMine   ID = "button.dinner.mine"
	ButtonDinnerTake   ID = "button.dinner.take" // What
	ButtonDinnerTick   ID = "button.dinner.tick"
	ButtonDinnerTicked ID = "button.dinner.tickthis" // What
	ButtonDinnerEnd    ID = "button.dinner.end"
	ButtonDinnerShow   ID = "button.dinner.show"
	ButtonDinnerServe  ID = "button.dinner.serve" // At
	ButtonDinnerCut    ID = "button.dinner.cut"   // Food, L
	ButtonDinnerDone   ID = "button.dinner.done"  // Food, Doneness
	ButtonDinnerIce    ID = "button.dinner.ice"
	ButtonDinnerNoice  ID = "button.dinner.noice"
	ButtonDinnerBaths  ID = "button.dinner.baths"   // Count
	ButtonDinnerDrop   ID = "button.dinner.without" // Food

	TypedServe  ID = "typed.serve"
	TypedLate   ID = "typed.late"
	TypedGuests ID = "typed.guests"
	TypedMine   ID = "typed.mine"
	TypedNoice  ID = "typed.noice"
	TypedBaths  ID = "typed.baths"
)

// dinnerReasonID is the message of a reason.
func dinnerReasonID(r dinner.ReasonID) ID { return ID("dinner.reason." + string(r)) }

// dinnerWhyID is the message of what stands against a dinner.
func dinnerWhyID(w dinner.Why) ID { return ID("dinner.why." + string(w)) }

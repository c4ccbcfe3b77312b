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

// dinnerReasonID is the message of a reason.
func dinnerReasonID(r dinner.ReasonID) ID { return ID("dinner.reason." + string(r)) }

// dinnerWhyID is the message of what stands against a dinner.
func dinnerWhyID(w dinner.Why) ID { return ID("dinner.why." + string(w)) }

package reply

import "bagwatch/internal/cook"

// Verdicts. The comment beside each gives its placeholders. The first lines, facts and rules are named by
// the model's own ids: verdictID, factID, movedID.
const (
	VerdictYesPasteurised ID = "verdict.yes.pasteurised"
	VerdictYesCooled      ID = "verdict.yes.cooled"
	VerdictCore           ID = "verdict.core"     // T
	VerdictCoreOut        ID = "verdict.coreout"  // T
	VerdictLogs           ID = "verdict.logs"     // Logs
	VerdictLog            ID = "verdict.log"      // Name, Log, Need
	VerdictLogOver        ID = "verdict.logover"  // Name, Log, Need
	VerdictSpent          ID = "verdict.spent"    // Spent, Allowed, T, Source
	VerdictSpentOut       ID = "verdict.spentout" // Spent, Allowed, Source
	VerdictWarming        ID = "verdict.warming"  // Spent, Allowed, T, Source
	VerdictRule           ID = "verdict.rule"     // Sources
	VerdictAtClock        ID = "verdict.at.clock" // Clock
	VerdictAtMore         ID = "verdict.at.more"  // Span
	VerdictUntilClock     ID = "verdict.until.clock"
	VerdictUntilMore      ID = "verdict.until.more" // Span
	VerdictDoServe        ID = "verdict.do.serve"
	VerdictDoServeBest    ID = "verdict.do.servebest"  // Best
	VerdictDoServeUntil   ID = "verdict.do.serveuntil" // Until
	VerdictDoEat          ID = "verdict.do.eat"        // Best
	VerdictDoEatNow       ID = "verdict.do.eatnow"
	VerdictDoEatUntil     ID = "verdict.do.eatuntil" // Until
	VerdictDoWait         ID = "verdict.do.wait"     // Water, At
	VerdictDoRaise        ID = "verdict.do.raise"    // Water, At
	VerdictDoBackIn       ID = "verdict.do.back-in"  // Water, At
	VerdictDoDiscard      ID = "verdict.do.discard"
	VerdictDoThermometer  ID = "verdict.do.thermometer"
	VerdictWhoRare        ID = "verdict.who.rare"
	VerdictWhoLightly     ID = "verdict.who.lightly"
	VerdictWhoSoftEgg     ID = "verdict.who.soft-egg"
	VerdictOthers         ID = "verdict.others"
	VerdictOthersUntil    ID = "verdict.othersuntil" // Until
	VerdictOthersPlain    ID = "verdict.othersplain"
	VerdictNoAtRisk       ID = "verdict.no.at-risk"
	VerdictDoOthers       ID = "verdict.do.others"

	VerdictOthersPlainUntil ID = "verdict.othersplainuntil" // Until

	VerdictNotTender     ID = "verdict.nottender"
	VerdictTaken         ID = "verdict.taken"          // Facts
	VerdictFactThickness ID = "verdict.fact.thickness" // L
	VerdictLimits        ID = "verdict.limits"
	VerdictEatQuick      ID = "verdict.eat-quick" // Span
)

// What a diary moved.
const (
	MovedNever  ID = "moved.never"
	MovedHead   ID = "moved.head"   // Food, Changes
	MovedSame   ID = "moved.same"   // Food
	MovedUnsafe ID = "moved.unsafe" // Food, Clock

	MovedUnsafeSpan ID = "moved.unsafespan" // Food, Span
	MovedRefused    ID = "moved.refused"    // Food
)

// Chilling, labels and reheating.
const (
	ChillHead       ID = "chill.head"     // Likely, Careful
	ChillMiddle     ID = "chill.middle"   // Likely, Careful
	ChillIce        ID = "chill.ice"      // Ice, Water
	ChillHeld       ID = "chill.held"     // Rules
	ChillSlow       ID = "chill.slow"     // Rules
	ChillThin       ID = "chill.thin"     // L
	ChillThick      ID = "chill.thick"    //
	ChillKeep       ID = "chill.keep"     // Until, Count, T
	ChillKeepSpan   ID = "chill.keepspan" // Count, T
	ChillKeepSource ID = "chill.keepsource"
	ChillNotKeep    ID = "chill.notkeep"
	ChillNotKeepYet ID = "chill.notkeepyet"
	ChillDiscard    ID = "chill.discard"
	ChillLimits     ID = "chill.limits"
	LabelFood       ID = "label.food"   // Food, Count
	LabelCooked     ID = "label.cooked" // Date, Water
	LabelUntil      ID = "label.until"  // Date, T
	LabelFrozen     ID = "label.frozen" // Date
	ReheatHead      ID = "reheat.head"  // Water, T, Ready
	ReheatBest      ID = "reheat.best"  // Best
	ReheatUntil     ID = "reheat.until" // Until
	ReheatKeep      ID = "reheat.keep"  // Count, T
)

// verdictID is the first line of a verdict.
func verdictID(a cook.Answer, r cook.ReasonID) ID {
	word := map[cook.Answer]string{cook.Yes: "yes", cook.NotYet: "notyet", cook.No: "no"}[a]
	return ID("verdict." + word + "." + string(r))
}

// factID is one thing that was taken on the safe side.
func factID(n cook.NoteID) ID { return ID("verdict.fact." + string(n)) }

// movedID is a time that a diary moved.
func movedID(c cook.ChangeID) ID { return ID("moved." + string(c)) }

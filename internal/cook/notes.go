package cook

// The assumptions a plan can rest on. Each is shown to the cook, who can correct it in two words.
const (
	AssumePieces         NoteID = "pieces"          // Count: how many were taken when none was said
	AssumeMassTotal      NoteID = "mass-total"      // Mass: taken as the total of all pieces
	AssumeThicknessMass  NoteID = "thickness-mass"  // Length..LengthMax: guessed from the mass
	AssumeThicknessUsual NoteID = "thickness-usual" // Length..LengthMax: the cut's usual portion
	AssumeThicknessAbout NoteID = "thickness-about" // Length..LengthMax: the cook said "about"
	AssumeFridge         NoteID = "start-fridge"    // Temperature
	AssumeDoneness       NoteID = "doneness"        // Ref
	AssumeSetpoint       NoteID = "setpoint"        // Temperature
	AssumeIntact         NoteID = "intact"          // one uncut piece, not pinned or tenderised
	AssumeSingleLayer    NoteID = "single-layer"    // one layer, under water
	AssumeOneBag         NoteID = "one-bag"         // Count round pieces together: safety counts them as a slab
	AssumeWarmSpent      NoteID = "warm-spent"      // Span: charged for the way from the cold to a warm start
)

// The cautions a plan can carry.
const (
	CautionNotPasteurised NoteID = "not-pasteurised"  // Span: pasteurised only then; 0: never at this setpoint
	CautionRare           NoteID = "rare-meat"        // intact, uncut; sear every face and the edges; not for at-risk guests
	CautionLightlyCooked  NoteID = "lightly-cooked"   // fish, shellfish, duck: not for at-risk guests
	CautionSoftEgg        NoteID = "soft-egg"         // not for at-risk guests unless bought pasteurised
	CautionParasites      NoteID = "parasites"        // freeze first, or fish from a parasite-free source
	CautionHistamine      NoteID = "histamine"        // keep on ice; no cooking mends it
	CautionShortHold      NoteID = "short-hold"       // Span: below the lowest table temperature, out by then
	CautionComeUp         NoteID = "come-up"          // Span: the core is over 6 h in the growth zone
	CautionMeasure        NoteID = "measure"          // thickness was guessed: measure it
	CautionTenderised     NoteID = "tenderised"       // if it was pinned or tenderised, say so
	CautionDrier          NoteID = "drier"            // pasteurised fish is drier than its best
	CautionLongBag        NoteID = "long-bag"         // over 12 h: double seal, cover the water
	CautionLongSurface    NoteID = "long-surface"     // over 12 h below 60 °C: dip at 85 °C or sear first
	CautionSaltLate       NoteID = "salt-late"        // over 4 h: salt just before, or expect a cured bite
	CautionNoClaim        NoteID = "no-claim"         // cured, brined or sugared: no pasteurisation is claimed
	CautionNational       NoteID = "national-minimum" // Ref: country, Temperature: the consumer minimum there
	CautionSpanShort      NoteID = "span-short"       // Span: the missing time
	CautionSpanLong       NoteID = "span-long"        // Span: how far past its best
	CautionPlantKeep      NoteID = "plant-keep"       // low-acid vegetables in a bag: eat now or chill at once
	CautionSearCarry      NoteID = "sear-carry"       // an unchilled sear costs about a doneness step
	CautionWindowMissed   NoteID = "window-missed"    // safe and best cannot both be met
	CautionKeepPoultry    NoteID = "poultry-local"    // Temperature: local advice may ask for more
)

// RuleID names a house or published rule that a request broke.
type RuleID string

// The rules a request can be refused by.
const (
	RefuseUnknownFood   RuleID = "unknown-food"
	RefuseBoiling       RuleID = "boiling"         // setpoint at or above the local boiling point
	RefuseTooCool       RuleID = "too-cool"        // setpoint below anything the food is cooked at
	RefuseNoFloor       RuleID = "below-floor"     // must be pasteurised, and the setpoint is below the lowest claim
	RefuseSlowCore      RuleID = "slow-core"       // below 54.4 °C and the careful core needs longer than may be spent there
	RefuseLongCool      RuleID = "long-cool"       // below 54.4 °C and the cook means to leave it longer than may be spent there
	RefuseComeUp        RuleID = "come-up"         // over 6 h in the growth zone, not intact
	RefuseAtRiskCool    RuleID = "at-risk-cool"    // at-risk guests need 60 °C or more
	RefuseAtRiskEgg     RuleID = "at-risk-egg"     // at-risk guests need the egg set
	RefuseAtRiskShort   RuleID = "at-risk-short"   // at-risk guests and no time at which it is both pasteurised and ready
	RefuseCured         RuleID = "cured"           // must be pasteurised, and nothing can be claimed of cured food
	RefuseTooThick      RuleID = "too-thick"       // thickness outside what the food or the model allows
	RefuseTooThin       RuleID = "too-thin"        //
	RefuseTooHeavy      RuleID = "too-heavy"       // mass a piece of this food does not have, or more than a bath holds
	RefuseTooMany       RuleID = "too-many"        // pieces
	RefuseTooFirm       RuleID = "too-cool-tender" // vegetables do not get tender below 80 °C
	RefuseStart         RuleID = "start"           // starts hotter than the bath, or colder than a freezer
	RefuseNotFood       RuleID = "amount"          // zero or negative amounts
	RefusePastTexture   RuleID = "no-window"       // texture leaves no window at this setpoint
	RefuseNeverReaches  RuleID = "never"           // not reached within the longest time the model looks at
	RefuseUnpasteurised RuleID = "not-pasteurised" // asked for pasteurised, and the setpoint cannot
	RefuseWarmHold      RuleID = "warm-hold"       // too long below 54.4 °C before it was pasteurised
	RefuseSagged        RuleID = "sagged"          // too long below 54.4 °C altogether
)

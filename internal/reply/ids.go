package reply

// ID names a message of the locales. The comment beside each gives its placeholders.
type ID string

// Quantities.
const (
	SpanMinutes      ID = "span.minutes"      // Minutes
	SpanHours        ID = "span.hours"        // Hours
	SpanHoursMinutes ID = "span.hoursminutes" // Hours, Minutes (two digits)
	SpanDays         ID = "span.days"         // Count, Days
	SpanDaysHours    ID = "span.dayshours"    // Count, Days, Hours
	SpanSeconds      ID = "span.seconds"      // From, To
	WaterMetric      ID = "water.metric"      // C, F
	WaterImperial    ID = "water.imperial"    // C, F
	DegreesC         ID = "degrees.c"         // T
	DegreesF         ID = "degrees.f"         // T
	LengthMM         ID = "length.mm"         // L
	LengthInch       ID = "length.inch"       // L
	MassGram         ID = "mass.gram"         // M
	MassKilogram     ID = "mass.kilogram"     // M
	MassOunce        ID = "mass.ounce"        // M
	MassPound        ID = "mass.pound"        // M
	ListAnd          ID = "list.and"          // A, B
)

// The plan.
const (
	PlanHead        ID = "plan.head"        // Food, Doneness, Water
	PlanHeadBare    ID = "plan.headbare"    // Food, Water
	PlanWindow      ID = "plan.window"      // Ready, Best
	PlanWindowRange ID = "plan.windowrange" // Ready (safe end), Early, Best
	PlanClock       ID = "plan.clock"       // In, Ready, Best
	PlanBy          ID = "plan.by"          // the food is pasteurised when ready
	PlanOnlyAfter   ID = "plan.onlyafter"   // Span
	PlanNever       ID = "plan.never"       // not pasteurised at this setpoint
	PlanNoClaim     ID = "plan.noclaim"     // cured, brined or sugared
	PlanPlant       ID = "plan.plant"       // vegetables: no claim
	PlanTaken       ID = "plan.taken"       // Facts
	PlanMass        ID = "plan.mass"        // Count, Mass

	PlanPieces      ID = "plan.pieces"      // Count
	PlanThick       ID = "plan.thick"       // L
	PlanAcross      ID = "plan.across"      // L: a diameter
	PlanThickAbout  ID = "plan.thickabout"  // From, To
	PlanAcrossAbout ID = "plan.acrossabout" // From, To
	PlanFridge      ID = "plan.fridge"      // T
	PlanRoom        ID = "plan.room"        // T
	PlanFrozen      ID = "plan.frozen"      // T
	PlanStart       ID = "plan.start"       // T
	PlanLayer       ID = "plan.layer"
	PlanThen        ID = "plan.then"      // Seconds
	PlanThenChill   ID = "plan.thenchill" // Seconds, Chill
	PlanRest        ID = "plan.rest"      // Span
	PlanLimits      ID = "plan.limits"    // the model's own caution, last line
	FoodRow         ID = "food.row"       // Food, Doneness, Water
	PlanCurve       ID = "plan.curve"     // heading of the text curve
)

// National minimum temperatures.
const (
	NationalPlain ID = "national.plain" // Country, T
	NationalHold  ID = "national.hold"  // Country, T, Span
	NationalRest  ID = "national.rest"  // Country, T, Span
)

// cautionID is the message of a caution.
func cautionID(id string) ID { return ID("caution." + id) }

// refusalID is the message of a refusal.
func refusalID(id string) ID { return ID("refusal." + id) }

// Marks of the text curve.
const (
	CurveCore        ID = "curve.core"
	CurveReady       ID = "curve.ready"
	CurveBest        ID = "curve.best"
	CurvePasteurised ID = "curve.pasteurised"
)

// What was not understood.
const (
	ProblemNoFoodSuggest   ID = "problem.no-food-suggest" // Typed, Foods
	ProblemNoFoodBare      ID = "problem.no-food-bare"
	ProblemUnlistedSuggest ID = "problem.unlisted-suggest" // Typed, Foods
	ProblemOr              ID = "problem.or"               // A, B
	ProblemLeftOut         ID = "problem.left-out"         // Words
	ProblemTakenFor        ID = "problem.taken-for"        // Typed, Food
	ProblemOthers          ID = "problem.others"           // Foods
	ProblemQuoted          ID = "problem.quoted"           // Word
)

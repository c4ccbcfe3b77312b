package reply

// What the bot says around verdicts, the bath diary and kept food. The comment beside each gives its
// placeholders.
const (
	SafeTaken   ID = "safe.taken"   // Food, Facts
	SafeThick   ID = "safe.thick"   // L
	SafeWater   ID = "safe.water"   // Water
	SafeSince   ID = "safe.since"   // Clock, Span
	SafeFor     ID = "safe.for"     // Span
	SafeOut     ID = "safe.out"     // Span
	SafeAtrisk  ID = "safe.atrisk"  //
	SafeEach    ID = "safe.each"    // Verdict, Bag
	SafeCannot  ID = "safe.cannot"  // Reason
	SafeHow     ID = "safe.how"     //
	SafeNoclock ID = "safe.noclock" //

	DiaryBath     ID = "diary.bath"     // T
	DiaryPower    ID = "diary.power"    //
	DiaryLid      ID = "diary.lid"      //
	DiaryBags     ID = "diary.bags"     // Count
	DiaryAdded    ID = "diary.added"    //
	DiaryAddedby  ID = "diary.addedby"  // Volume
	DiaryCore     ID = "diary.core"     // Bag, T
	DiaryAt       ID = "diary.at"       // What, When
	DiarySpan     ID = "diary.span"     // What, From, To
	DiaryOpen     ID = "diary.open"     // What, From
	DiaryAgo      ID = "diary.ago"      // Span
	DiaryNow      ID = "diary.now"      //
	DiaryNoted    ID = "diary.noted"    // Line
	DiaryNotedby  ID = "diary.notedby"  // Line, Who
	DiaryEnded    ID = "diary.ended"    // Line
	DiaryEndedby  ID = "diary.endedby"  // Line, Who
	DiaryUndone   ID = "diary.undone"   // Line
	DiaryUndoneby ID = "diary.undoneby" // Line, Who
	DiaryNobag    ID = "diary.nobag"    //
	DiaryNothing  ID = "diary.nothing"  //
	DiaryCounted  ID = "diary.counted"  //
	DiaryTitle    ID = "diary.title"    //
	DiaryEmpty    ID = "diary.empty"    //
	DiaryLine     ID = "diary.line"     // Line, Who
	DiaryBack     ID = "diary.back"     // Food, State
	DiaryGone     ID = "diary.gone"     //
	DiaryUnset    ID = "diary.unset"    //
	DiaryTopped   ID = "diary.topped"   //
	DiaryNotyours ID = "diary.notyours" //
	DiaryTime     ID = "diary.time"     //

	ChillRecord     ID = "chill.record" // Water, Span
	ChillHow        ID = "chill.how"    //
	ChillLabel      ID = "chill.label"  //
	ReheatHow       ID = "reheat.how"   //
	ReheatGuess     ID = "reheat.guess" // L
	ReheatTold      ID = "reheat.told"  //
	BagStateWaiting ID = "bag.state.waiting"
	KeptFridge      ID = "kept.fridge"  // Food, Date
	KeptFreezer     ID = "kept.freezer" // Food, Date
	KeptNoted       ID = "kept.noted"   // Line
	KeptNotedby     ID = "kept.notedby" // Line, Who
	KeptTitle       ID = "kept.title"   // Count
	KeptEaten       ID = "kept.eaten"   // Food
	KeptThrown      ID = "kept.thrown"  // Food
	KeptGone        ID = "kept.gone"    //
	KeptNot         ID = "kept.not"     //
	KeptFor         ID = "kept.for"     //
	KeptRepeat      ID = "kept.repeat"  //

	ButtonSafe      ID = "button.safe"
	ButtonSafebag   ID = "button.safebag" // Bag
	ButtonSafeagain ID = "button.safeagain"
	ButtonChill     ID = "button.chill"
	ButtonFridge    ID = "button.fridge"
	ButtonFreezer   ID = "button.freezer"
	ButtonKept      ID = "button.kept" // Food
	ButtonEaten     ID = "button.eaten"
	ButtonThrown    ID = "button.thrown"
	ButtonReheat    ID = "button.reheat"
	ButtonKeepable  ID = "button.keepable"
	ButtonDiaryundo ID = "button.diaryundo"

	PrivacyDiary ID = "privacy.diary" // Diary, Over

	// Lists of words, comma separated.
	TypedAsks      ID = "typed.asks"
	TypedOkay      ID = "typed.okay"
	TypedUnsure    ID = "typed.unsure"
	TypedYesterday ID = "typed.yesterday"
	TypedTomorrow  ID = "typed.tomorrow"
	TypedReheat    ID = "typed.reheat"
	TypedBath      ID = "typed.bath"
	TypedPowerout  ID = "typed.powerout"
	TypedPowerback ID = "typed.powerback"
	TypedLidoff    ID = "typed.lidoff"
	TypedLidon     ID = "typed.lidon"
	TypedBagin     ID = "typed.bagin"
	TypedColdbag   ID = "typed.coldbag"
	TypedTopup     ID = "typed.topup"
	TypedCore      ID = "typed.core"
	TypedDiary     ID = "typed.diary"
	TypedAgo       ID = "typed.ago"
	TypedUntil     ID = "typed.until"
	TypedMinute    ID = "typed.minute"
	TypedHour      ID = "typed.hour"
	TypedDiaryfill ID = "typed.diaryfill"
)

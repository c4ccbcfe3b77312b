package reply

// The picture of a cook. What stands in the picture itself is short: it is read on a phone.
const (
	PictureTitle     ID = "picture.title"     // Food, Doneness
	PictureTitleBare ID = "picture.titlebare" // Food
	PictureWater     ID = "picture.water"     // T
	PictureCore      ID = "picture.core"
	PictureSlow      ID = "picture.slow"
	PictureReady     ID = "picture.ready" // Time
	PictureBest      ID = "picture.best"  // Time

	PicturePasteurised     ID = "picture.pasteurised"     // Time
	PictureOnlyPasteurised ID = "picture.onlypasteurised" // Time
	PictureNever           ID = "picture.never"
	PictureNoClaim         ID = "picture.noclaim"

	PictureNow         ID = "picture.now"         // Time, T
	PictureMinutes     ID = "picture.minutes"     // title of the time axis
	PictureHoursMin    ID = "picture.hoursmin"    // title of the time axis
	PictureHours       ID = "picture.hours"       // title of the time axis
	PictureClock       ID = "picture.clock"       // title of the time axis
	PictureSqueezed    ID = "picture.squeezed"    // Axis
	PictureCaption     ID = "picture.caption"     // T0, T1, Time1, T2, Time2
	PictureCaptionBand ID = "picture.captionband" // Slow
	PictureCaptionNow  ID = "picture.captionnow"  // Time, T
	PictureDiary       ID = "picture.diary"       // Entries
	PictureDiaryEntry  ID = "picture.diaryentry"  // T, Time
	PictureDiaryRamp   ID = "picture.diaryramp"   // T, Until, Time
)

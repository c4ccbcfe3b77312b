package reply

// News of running bags, kept food and dinners. The comment beside each gives its placeholders.
const (
	NewsReady    ID = "news.ready"    // Bag, Until
	NewsLastcall ID = "news.lastcall" // Bag, By
	NewsPast     ID = "news.past"     // Bag, Since
	NewsRaw      ID = "news.raw"      // Bag, Since, By
	NewsOver     ID = "news.over"     // Bag, Since
	NewsUnsafe   ID = "news.unsafe"   // Bag
	NewsWhy      ID = "news.why"
	NewsChilled  ID = "news.chilled" // Food
	NewsFrozen   ID = "news.frozen"  // Food
	NewsSoon     ID = "news.soon"    // Food, Date
	NewsStep     ID = "news.step"    // What
	NewsWater    ID = "news.water"
	NewsLate     ID = "news.late" // Span
	NewsAgain    ID = "news.again"

	NewsBag     ID = "news.bag"     // Count, Name
	NewsStarter ID = "news.starter" // Bag, Who

	NewsUntil  ID = "news.until"  // Time
	NewsFor    ID = "news.for"    // Span
	NewsBy     ID = "news.by"     // Time
	NewsWithin ID = "news.within" // Span
	NewsAtonce ID = "news.atonce"
	NewsSince  ID = "news.since" // Time
	NewsAgo    ID = "news.ago"   // Span
	NewsJust   ID = "news.just"
)

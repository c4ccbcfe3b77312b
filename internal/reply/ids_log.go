package reply

// Past cooks, and what becomes of them.
const (
	LogTitle    ID = "log.title"
	LogNone     ID = "log.none"
	LogLine     ID = "log.line"   // Bag, Water, Thickness, Time, Ago, Verdict
	LogNote     ID = "log.note"   // Line, Note
	LogRecall   ID = "log.recall" // Ago, Water, Thickness, Time, Verdict
	LogSoft     ID = "log.soft"
	LogRight    ID = "log.right"
	LogFirm     ID = "log.firm"
	LogUnrated  ID = "log.unrated"
	LogNoted    ID = "log.noted"   // Verdict
	LogAsknote  ID = "log.asknote" // Bag
	LogNotekept ID = "log.notekept"

	CommandLog  ID = "command.log"
	TroubleNone ID = "trouble.none"

	ButtonToosoft   ID = "button.toosoft"
	ButtonJustright ID = "button.justright"
	ButtonToofirm   ID = "button.toofirm"
	ButtonNote      ID = "button.note"
	ButtonAgain     ID = "button.again"
	ButtonPast      ID = "button.past"   // Bag, Ago
	ButtonSofter    ID = "button.softer" // Step
	ButtonFirmer    ID = "button.firmer" // Step
	ButtonLasttime  ID = "button.lasttime"

	// BotStranger is for somebody who is not among those answered.
	BotStranger       ID = "bot.stranger"       // Number
	BotStrangernotice ID = "bot.strangernotice" // over a pressed button
	BotSlowgroup      ID = "bot.slowgroup"
)

package reply

// What the bot says of itself on its page.
const (
	ProfileDescription ID = "profile.description" // at most 512 characters
	ProfileShort       ID = "profile.short"       // at most 120 characters
)

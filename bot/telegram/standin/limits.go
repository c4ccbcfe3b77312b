package standin

import (
	"regexp"
	"unicode/utf16"
)

// Limits of the official documentation (Bot API 10.3), read parameter by parameter and reviewed by
// hand. "Characters" are counted in UTF-16 units, never less than the official server's own count.
const (
	maxText           = 4096 // sendMessage.text, editMessageText.text, InputTextMessageContent.message_text: 1-4096
	maxCaption        = 1024 // every caption: 0-1024
	maxQuote          = 1024 // ReplyParameters.quote: 0-1024
	maxCallbackText   = 200  // answerCallbackQuery.text: 0-200
	maxCallbackData   = 64   // InlineKeyboardButton.callback_data: 1-64 bytes
	maxCopyText       = 256  // CopyTextButton.text: 1-256
	maxPlaceholder    = 64   // ForceReply, ReplyKeyboardMarkup input_field_placeholder: 1-64
	maxResults        = 50   // answerInlineQuery: at most 50 results
	maxResultID       = 64   // InlineQueryResult….id: 1-64 bytes
	maxNextOffset     = 64   // answerInlineQuery.next_offset: at most 64 bytes
	maxInlineQuery    = 256  // InlineQuery.query: at most 256 characters
	maxDeleteMessages = 100  // deleteMessages.message_ids: 1-100
	maxPollLimit      = 100  // getUpdates.limit: 1-100
	maxPollTimeout    = 50   // getUpdates.timeout: seconds, clamped by the official server's source
	maxCommands       = 100  // setMyCommands.commands: at most 100
	maxCommandText    = 256  // BotCommand.description: 1-256
	maxName           = 64   // setMyName.name: 0-64
	maxDescription    = 512  // setMyDescription.description: 0-512
	maxShort          = 120  // setMyShortDescription.short_description: 0-120
	maxConnections    = 100  // setWebhook.max_connections: 1-100
	defConnections    = 40   // setWebhook.max_connections: default
	maxAccuracy       = 1500 // horizontal_accuracy: 0-1500 m
	maxReactions      = 1    // setMessageReaction: non-premium users, as bots are, one per message

	maxPhotoBytes = 10 << 20 // sendPhoto: 10 MB
	maxPhotoSides = 10000    // sendPhoto: width and height in total
	maxPhotoRatio = 20       // sendPhoto: width to height
	maxFileBytes  = 50 << 20 // Bots FAQ: bots send files of up to 50 MB
	maxDownload   = 20 << 20 // getFile: files of up to 20 MB

	deleteHours = 48 // deleteMessage: only messages sent less than 48 hours ago
	updateHours = 24 // Getting updates: kept on the server no longer than 24 hours

	// From the source of the official client library (td): more buttons than this are cut silently.
	maxRow     = 12
	maxButtons = 300
	// From memory: entities of one message beyond this count are ignored.
	maxEntities = 100
	// From the source of the official server: how long updates of the two query kinds are kept, seconds.
	callbackKept = 150
	inlineKept   = 30
)

// Live period of a location: 60-86400 s, or 0x7FFFFFFF for ever (sendLocation.live_period).
const (
	minLive     = 60
	maxLive     = 86400
	liveForever = 0x7FFFFFFF
)

// formats are the documented alphabets. They do not change.
var (
	startPayload  = regexp.MustCompile(`^[A-Za-z0-9_-]{1,64}$`)       // deep linking: at most 64 of base64url
	secretToken   = regexp.MustCompile(`^[A-Za-z0-9_-]{1,256}$`)      // setWebhook.secret_token
	commandName   = regexp.MustCompile(`^[a-z0-9_]{1,32}$`)           // BotCommand.command
	languageCode  = regexp.MustCompile(`^([a-z]{2})?$`)               // language_code: two letters or empty
	dateTimeStyle = regexp.MustCompile(`^(r|w?[dD]?[tT]?)$`)          // tg-time format
	tokenForm     = regexp.MustCompile(`^[0-9]+:[A-Za-z0-9_-]{20,}$`) // 123456:ABC-DEF…
)

// units counts UTF-16 units.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += utf16.RuneLen(r)
	}
	return n
}

package standin

import (
	"encoding/json"
	"fmt"
)

// apiError is a refusal as the official server words it.
type apiError struct {
	code        int
	description string
	retryAfter  int   // seconds, in parameters and the Retry-After header
	migrateTo   int64 // in parameters
}

func badRequest(format string, args ...any) *apiError {
	return &apiError{code: 400, description: "Bad Request: " + fmt.Sprintf(format, args...)}
}

func forbidden(text string) *apiError {
	return &apiError{code: 403, description: "Forbidden: " + text}
}

// answer is the body of every reply.
type answer struct {
	OK          bool            `json:"ok"`
	Result      any             `json:"result,omitempty"`
	ErrorCode   int             `json:"error_code,omitempty"`
	Description string          `json:"description,omitempty"`
	Parameters  *answerReasons  `json:"parameters,omitempty"`
	raw         json.RawMessage // a prepared body
}

type answerReasons struct {
	RetryAfter int   `json:"retry_after,omitempty"`
	MigrateTo  int64 `json:"migrate_to_chat_id,omitempty"`
}

func (e *apiError) answer() answer {
	a := answer{ErrorCode: e.code, Description: e.description}
	if e.retryAfter > 0 || e.migrateTo != 0 {
		a.Parameters = &answerReasons{e.retryAfter, e.migrateTo}
	}
	return a
}

// The wire… types are the objects of the Bot API, with the fields a bot may read.

type wireUser struct {
	ID           int64  `json:"id"`
	IsBot        bool   `json:"is_bot"`
	FirstName    string `json:"first_name"`
	LastName     string `json:"last_name,omitempty"`
	Username     string `json:"username,omitempty"`
	LanguageCode string `json:"language_code,omitempty"`
}

type wireMe struct {
	wireUser
	CanJoinGroups   bool `json:"can_join_groups"`
	CanReadAll      bool `json:"can_read_all_group_messages"`
	InlineQueries   bool `json:"supports_inline_queries"`
	ConnectBusiness bool `json:"can_connect_to_business"`
	HasMainWebApp   bool `json:"has_main_web_app"`
}

type wireChat struct {
	ID        int64  `json:"id"`
	Type      string `json:"type"`
	Title     string `json:"title,omitempty"`
	Username  string `json:"username,omitempty"`
	FirstName string `json:"first_name,omitempty"`
	LastName  string `json:"last_name,omitempty"`
	IsForum   bool   `json:"is_forum,omitempty"`
}

type wireFullChat struct {
	wireChat
	AccentColor  int          `json:"accent_color_id"`
	MaxReactions int          `json:"max_reaction_count"`
	Pinned       *wireMessage `json:"pinned_message,omitempty"`
}

type wireMessage struct {
	ID            int             `json:"message_id"`
	Thread        int             `json:"message_thread_id,omitempty"`
	From          *wireUser       `json:"from,omitempty"`
	SenderChat    *wireChat       `json:"sender_chat,omitempty"`
	Date          int64           `json:"date"`
	EditDate      int64           `json:"edit_date,omitempty"`
	Chat          wireChat        `json:"chat"`
	ForwardOrigin *wireOrigin     `json:"forward_origin,omitempty"`
	IsTopic       bool            `json:"is_topic_message,omitempty"`
	ReplyTo       *wireMessage    `json:"reply_to_message,omitempty"`
	ViaBot        *wireUser       `json:"via_bot,omitempty"`
	Text          string          `json:"text,omitempty"`
	Entities      []Entity        `json:"entities,omitempty"`
	Photo         []wirePhotoSize `json:"photo,omitempty"`
	Document      *wireDocument   `json:"document,omitempty"`
	Caption       string          `json:"caption,omitempty"`
	CaptionEnts   []Entity        `json:"caption_entities,omitempty"`
	Location      *wireLocation   `json:"location,omitempty"`
	NewMembers    []wireUser      `json:"new_chat_members,omitempty"`
	LeftMember    *wireUser       `json:"left_chat_member,omitempty"`
	NewTitle      string          `json:"new_chat_title,omitempty"`
	MigrateTo     int64           `json:"migrate_to_chat_id,omitempty"`
	MigrateFrom   int64           `json:"migrate_from_chat_id,omitempty"`
	PinnedMessage *wireMessage    `json:"pinned_message,omitempty"`
	TopicCreated  *wireTopic      `json:"forum_topic_created,omitempty"`
	ReplyMarkup   *wireKeyboard   `json:"reply_markup,omitempty"`
	HasProtected  bool            `json:"has_protected_content,omitempty"`
	CaptionAbove  bool            `json:"show_caption_above_media,omitempty"`
}

type wireTopic struct {
	Name      string `json:"name"`
	IconColor int    `json:"icon_color"`
}

type wireOrigin struct {
	Type string    `json:"type"`
	Date int64     `json:"date"`
	User *wireUser `json:"sender_user,omitempty"`
}

type wirePhotoSize struct {
	FileID   string `json:"file_id"`
	UniqueID string `json:"file_unique_id"`
	Width    int    `json:"width"`
	Height   int    `json:"height"`
	Size     int    `json:"file_size,omitempty"`
}

type wireDocument struct {
	FileID   string `json:"file_id"`
	UniqueID string `json:"file_unique_id"`
	Name     string `json:"file_name,omitempty"`
	MIME     string `json:"mime_type,omitempty"`
	Size     int    `json:"file_size,omitempty"`
}

type wireFile struct {
	FileID   string `json:"file_id"`
	UniqueID string `json:"file_unique_id"`
	Size     int    `json:"file_size,omitempty"`
	Path     string `json:"file_path,omitempty"`
}

type wireLocation struct {
	Latitude   float64 `json:"latitude"`
	Longitude  float64 `json:"longitude"`
	Accuracy   float64 `json:"horizontal_accuracy,omitempty"`
	LivePeriod int64   `json:"live_period,omitempty"`
}

type wireKeyboard struct {
	Rows [][]map[string]any `json:"inline_keyboard"`
}

type wireMember struct {
	Status string   `json:"status"`
	User   wireUser `json:"user"`
	Rights
	IsAnonymous *bool  `json:"is_anonymous,omitempty"`
	CanBeEdited *bool  `json:"can_be_edited,omitempty"`
	UntilDate   *int64 `json:"until_date,omitempty"`
}

type wireMemberChange struct {
	Chat wireChat   `json:"chat"`
	From wireUser   `json:"from"`
	Date int64      `json:"date"`
	Old  wireMember `json:"old_chat_member"`
	New  wireMember `json:"new_chat_member"`
}

type wireCallback struct {
	ID           string       `json:"id"`
	From         wireUser     `json:"from"`
	Message      *wireMessage `json:"message,omitempty"` // date 0 if inaccessible
	InlineID     string       `json:"inline_message_id,omitempty"`
	ChatInstance string       `json:"chat_instance"`
	Data         string       `json:"data"`
}

type wireInlineQuery struct {
	ID       string        `json:"id"`
	From     wireUser      `json:"from"`
	Query    string        `json:"query"`
	Offset   string        `json:"offset"`
	ChatType string        `json:"chat_type,omitempty"`
	Location *wireLocation `json:"location,omitempty"`
}

type wireChosen struct {
	ResultID string   `json:"result_id"`
	From     wireUser `json:"from"`
	InlineID string   `json:"inline_message_id,omitempty"`
	Query    string   `json:"query"`
}

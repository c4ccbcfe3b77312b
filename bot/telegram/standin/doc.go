// Package standin is a strict stand-in of the Telegram Bot API server for tests.
//
// It listens on a loopback address, speaks the Bot API over HTTP as a bot sees it, and lets a
// test play the people: they write, press buttons, ask inline, block the bot, migrate a group.
// What the bot did is read back as people would see it, with entities stripped.
//
// It judges every call. A call that the official documentation does not allow is a [Violation]:
// it fails the test (testing.TB.Errorf) and is also answered as the official server would answer.
// Checked are
//   - method names, parameter names, types and enumerations, against schema.json, which is
//     generated from the documentation of Bot API 10.3 (the file's comment names the packages);
//   - lengths, byte counts, ranges and formats, in limits.go, each with its source;
//   - HTML markup, keyboards, files, deep links, references to chats and messages.
//
// Refusals that a well-behaved bot must expect are answered but are no violations: 403 of a
// blocked bot, 429, migration, a callback answered too late, a message the user deleted.
//
// Wording: the descriptions of 403, 409, migration, "message is not modified" and "query is too old"
// are taken from the official server's source; all others are from memory, so a bot should go by
// their code. Which call is refused rests on the documentation, not on the wording.
//
// Time: message dates, expiry and query deadlines follow [Config].Now, so a test can move them.
// Long polls, webhook retries and the Wait functions run on real time, since sockets do.
//
// Not covered: Markdown parse modes (reported as [Unsupported]), media other than photos,
// documents and locations, channels, payments, business connections, rich messages. Webhooks
// may be plain http on a loopback address and on any port, which the official server refuses.
//
// Start with [New] in a test, [Start] elsewhere; then [Server.AddUser], [Server.Private],
// [Server.SendText], [Server.Expect], [Server.Press].
package standin

// A small bot on an independent client library talks to the stand-in while this script plays the
// person: private chat, buttons, edits, photos, inline queries, 429, a proxy's 502, and at the end
// calls that are wrong and must be caught.
import assert from 'node:assert/strict'
import { spawn } from 'node:child_process'
import { createInterface } from 'node:readline'
import { deflateSync } from 'node:zlib'
import { Bot, GrammyError, HttpError, InlineKeyboard, InputFile, InlineQueryResultBuilder } from 'grammy'

const child = spawn(process.argv[2], { stdio: ['pipe', 'pipe', 'inherit'] })
const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]()
const line = async () => JSON.parse((await lines.next()).value)
const stage = await line()

async function person(command) {
  child.stdin.write(JSON.stringify(command) + '\n')
  const answer = await line()
  if (answer && answer.error) throw new Error(`${JSON.stringify(command)}: ${answer.error}`)
  return answer
}

// png is a grey picture of w × h pixels.
function png(w, h) {
  const table = Array.from({ length: 256 }, (_, n) => {
    for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1
    return n >>> 0
  })
  const crc = (b) => ~b.reduce((c, x) => table[(c ^ x) & 255] ^ (c >>> 8), ~0) >>> 0
  const chunk = (name, data) => {
    const body = Buffer.concat([Buffer.from(name), data])
    const size = Buffer.alloc(4), sum = Buffer.alloc(4)
    size.writeUInt32BE(data.length)
    sum.writeUInt32BE(crc(body))
    return Buffer.concat([size, body, sum])
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(w, 0)
  head.writeUInt32BE(h, 4)
  head[8] = 8
  return Buffer.concat([Buffer.from('89504e470d0a1a0a', 'hex'), chunk('IHDR', head),
    chunk('IDAT', deflateSync(Buffer.alloc((w + 1) * h, 128))), chunk('IEND', Buffer.alloc(0))])
}

const bot = new Bot(stage.token, { client: { apiRoot: stage.url } })
const keyboard = (n) => new InlineKeyboard().text('More', `more:${n}`).text('Less', `less:${n}`).row().copyText('Copy', String(n))
const waited = []

// patient repeats a call that is refused with 429, as long as it is told to.
async function patient(call) {
  for (;;) {
    try {
      return await call()
    } catch (e) {
      if (!(e instanceof GrammyError) || e.error_code !== 429) throw e
      waited.push(e.parameters.retry_after)
      await new Promise((done) => setTimeout(done, e.parameters.retry_after * 1000))
    }
  }
}

bot.command('start', (ctx) => ctx.reply(`Welcome <b>${ctx.match || 'nobody'}</b> &amp; all`, { parse_mode: 'HTML', reply_markup: keyboard(1) }))
bot.command('picture', (ctx) => ctx.replyWithPhoto(new InputFile(png(120, 80), 'curve.png'), { caption: '<i>a curve</i>', parse_mode: 'HTML' }))
bot.command('slow', (ctx) => patient(() => ctx.reply('slow but there')))
bot.on('message:photo', async (ctx) => {
  const file = await ctx.getFile()
  const data = await (await fetch(`${stage.url}/file/bot${stage.token}/${file.file_path}`)).arrayBuffer()
  await ctx.replyWithPhoto(ctx.message.photo.at(-1).file_id, { caption: `${data.byteLength} bytes, ${ctx.message.photo.at(-1).width} wide` })
})
bot.callbackQuery(/^(more|less):(\d+)$/, async (ctx) => {
  const n = Number(ctx.match[2]) + (ctx.match[1] === 'more' ? 1 : -1)
  await ctx.answerCallbackQuery({ text: `now ${n}` })
  await ctx.editMessageText(`count ${n}`, { reply_markup: keyboard(n) })
})
bot.on('inline_query', (ctx) => ctx.answerInlineQuery([
  InlineQueryResultBuilder.article('a', `Plan for ${ctx.inlineQuery.query}`, { reply_markup: new InlineKeyboard().text('Ok', 'ok') })
    .text(`<b>${ctx.inlineQuery.query}</b>`, { parse_mode: 'HTML' }),
], { cache_time: 1, is_personal: true, button: { text: 'Open', start_parameter: 'inline' } }))
bot.on('chosen_inline_result', (ctx) => ctx.api.editMessageTextInline(ctx.chosenInlineResult.inline_message_id, `chosen ${ctx.chosenInlineResult.result_id}`))
bot.catch((e) => { throw e.error })

let checks = 0
const same = (a, b) => { assert.deepEqual(a, b); checks++ }
const seen = (text) => person({ do: 'wait', text })

try {
  await bot.api.setMyCommands([{ command: 'start', description: 'Begin' }], { scope: { type: 'all_private_chats' }, language_code: 'en' })
  same(await bot.api.getMyCommands({ scope: { type: 'all_private_chats' }, language_code: 'en' }), [{ command: 'start', description: 'Begin' }])
  const running = bot.start({ allowed_updates: ['message', 'callback_query', 'inline_query', 'chosen_inline_result'] })

  // Private chat: a command with its deep-link parameter, HTML seen as text, entities where they belong.
  await person({ do: 'text', text: '/start code_1' })
  const hello = (await seen('Welcome code_1 & all')).Message
  same(hello.Entities, [{ type: 'bold', offset: 8, length: 6 }])
  same(hello.Buttons.map((row) => row.map((b) => b.Text)), [['More', 'Less'], ['Copy']])

  // Button, answer, edit.
  const pressed = await person({ do: 'press', text: 'More' })
  same([pressed.Answered, pressed.Text], [true, 'now 2'])
  const edit = await seen('count 2')
  same([edit.Kind, edit.Message.ID, edit.Message.Edits], ['edited', hello.ID, 1])
  same(edit.Message.Buttons[0][0].Data, 'more:2')

  // Photos: upload, and one of the person's read and sent back by its id.
  await person({ do: 'text', text: '/picture' })
  assert.ok((await seen('a curve')).Message.Photo)
  const mine = png(300, 100)
  await person({ do: 'photo', picture: mine.toString('base64') })
  await seen(`${mine.length} bytes, 300 wide`)

  // Inline: results, the message sent via the bot, its edit.
  const query = await person({ do: 'ask', text: 'flank 2 cm' })
  same(query.Results.map((r) => [r.ID, r.Title, r.Text]), [['a', 'Plan for flank 2 cm', 'flank 2 cm']])
  same([query.StartWith, query.Personal, query.CacheTime], ['inline', true, 1])
  const sent = await person({ do: 'choose', text: 'a' })
  assert.match(sent.InlineID, /^inline-/)
  await seen('chosen a')

  // 429: the wait asked for is kept, then the message arrives.
  await person({ do: 'toomany', method: 'sendMessage', seconds: 1 })
  const before = Date.now()
  await person({ do: 'text', text: '/slow' })
  await seen('slow but there')
  same(waited, [1])
  assert.ok(Date.now() - before >= 1000, 'the bot waited')

  // A proxy's page instead of an answer is no API error.
  await person({ do: 'badgateway', method: 'sendMessage' })
  await assert.rejects(bot.api.sendMessage(stage.chat, 'x'), HttpError)

  same(await person({ do: 'unanswered' }), [])
  same(await person({ do: 'violations' }), [])

  // Wrong calls are refused as the official server refuses them, and noted.
  const refused = async (call, code, text) => {
    await assert.rejects(call, (e) => e instanceof GrammyError && e.error_code === code && e.description.includes(text) || assert.fail(String(e)))
    checks++
  }
  await refused(bot.api.sendMessage(stage.chat, '<b>x', { parse_mode: 'HTML' }), 400, `can't parse entities: Can't find end tag corresponding to start tag "b"`)
  await refused(bot.api.sendMessage(stage.chat, 'x'.repeat(4097)), 400, 'message is too long')
  await refused(bot.api.editMessageText(stage.chat, hello.ID, 'count 2', { reply_markup: keyboard(2) }), 400, 'message is not modified')
  await refused(bot.api.sendMessage(stage.chat, 'x', { reply_markup: new InlineKeyboard().text('A', 'x'.repeat(65)) }), 400, 'BUTTON_DATA_INVALID')
  await refused(bot.api.sendPhoto(stage.chat, new InputFile(png(2100, 100), 'long.png')), 400, 'PHOTO_INVALID_DIMENSIONS')
  await refused(bot.api.sendChatAction(stage.chat, 'cooking'), 400, 'wrong parameter action')
  same((await person({ do: 'violations' })).map((v) => v.Kind), ['markup', 'limit', 'not modified', 'limit', 'file', 'schema'])

  await bot.stop()
  await running
  console.log(`proof: ${checks} checks passed with grammy against the stand-in`)
} finally {
  child.stdin.end()
}

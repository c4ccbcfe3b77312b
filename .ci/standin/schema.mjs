// Regenerates bot/telegram/standin/schema.json, the facts the stand-in checks requests against:
// parameter names, types, required flags and enumerations of the methods listed below.
//
//   node schema.mjs write   rewrite the committed file
//   node schema.mjs check   fail if the committed file differs from what the pinned packages give
//
// What is changed between the generator's output and the file, and why:
//   descriptions are dropped: only facts are kept, lengths and ranges are in limits.go;
//   the client library's own alternatives {toJSON} and {toString} are dropped, they never reach the wire;
//   "number" becomes "integer" except for the few Float fields of the Bot API;
//   InputFile becomes a string: the stand-in shows an uploaded part as attach://NAME;
//   rich messages are left out: they are half of the definitions and no caller sends them.
import { execFileSync } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const here = dirname(fileURLToPath(import.meta.url))
const target = join(here, '../../bot/telegram/standin/schema.json')

const methods = `getMe getUpdates setWebhook deleteWebhook getWebhookInfo
sendMessage sendPhoto sendDocument sendLocation sendChatAction copyMessage forwardMessage
editMessageText editMessageCaption editMessageMedia editMessageReplyMarkup deleteMessage deleteMessages
answerCallbackQuery answerInlineQuery setMessageReaction pinChatMessage unpinChatMessage
setMyCommands getMyCommands deleteMyCommands setMyName getMyName setMyDescription getMyDescription
setMyShortDescription getMyShortDescription
getChat getChatMember getChatAdministrators leaveChat getFile`.split(/\s+/)

const floats = new Set(['latitude', 'longitude', 'horizontal_accuracy'])
const dropped = new Set(['rich_message'])
const droppedRefs = new Set(['TelegramInputRichMessageContent'])

const types = join(here, 'node_modules/@gramio/types')
const source = JSON.parse(execFileSync(process.execPath, [
  join(here, 'node_modules/ts-json-schema-generator/bin/ts-json-schema-generator.js'),
  '--path', join(types, 'out/params.d.ts'), '--type', '*', '--no-type-check',
], { maxBuffer: 1 << 26, encoding: 'utf8' })).definitions

const isClientOnly = (s) => s.type === 'object' && s.properties && Object.keys(s.properties).length === 1 &&
  (Object.hasOwn(s.properties, 'toJSON') || Object.hasOwn(s.properties, 'toString'))
const refName = (ref) => ref.replace('#/definitions/', '')
const shortName = (name) => name.replace(/^Telegram/, '')

const reached = new Map()

function reduce(schema, field) {
  if (schema.$ref) {
    const name = refName(schema.$ref)
    if (name === 'TelegramInputFile') return { type: 'string', pattern: '^attach://.' }
    reach(name)
    return { $ref: '#/definitions/' + shortName(name) }
  }
  if (schema.anyOf) {
    const kept = schema.anyOf.filter((s) => !isClientOnly(s) && !(s.$ref && droppedRefs.has(refName(s.$ref))))
    if (kept.some((s) => s.$ref === '#/definitions/TelegramInputFile')) return { type: 'string', minLength: 1 }
    if (kept.length === 1) return reduce(kept[0], field)
    return { anyOf: kept.map((s) => reduce(s, field)) }
  }
  const out = {}
  for (const [key, value] of Object.entries(schema)) {
    if (key === 'description') continue
    if (key === 'type') {
      const integer = (t) => (t === 'number' && !floats.has(field) ? 'integer' : t)
      out.type = Array.isArray(value) ? value.map(integer) : integer(value)
    } else if (key === 'properties') {
      out.properties = {}
      for (const [name, property] of Object.entries(value)) {
        if (!dropped.has(name)) out.properties[name] = reduce(property, name)
      }
    } else if (key === 'items') {
      out.items = reduce(value, field)
    } else if (key === 'required') {
      out.required = value.filter((name) => !dropped.has(name))
    } else if (['enum', 'const', 'additionalProperties', 'format', 'minItems', 'maxItems'].includes(key)) {
      out[key] = value
    } else {
      throw new Error(`unexpected keyword ${key} at ${field}`)
    }
  }
  return out
}

function reach(name) {
  if (reached.has(name)) return
  if (!source[name]) throw new Error(`no definition of ${name}`)
  reached.set(name, null)
  reached.set(name, reduce(source[name], name))
}

const byMethod = {}
for (const method of methods.toSorted()) {
  const name = method[0].toUpperCase() + method.slice(1) + 'Params'
  byMethod[method] = source[name] ? reduce(source[name], name) : { type: 'object', additionalProperties: false, properties: {} }
}
const definitions = {}
for (const name of [...reached.keys()].toSorted()) definitions[shortName(name)] = reached.get(name)

const version = readFileSync(join(types, 'out/params.d.ts'), 'utf8').match(/Bot API v([\d.]+)/)[1]
const lines = [
  '{',
  `"$schema": "http://json-schema.org/draft-07/schema#",`,
  `"$comment": ${JSON.stringify(`Bot API ${version}; generated from @gramio/types 10.3.1 (MIT) by ts-json-schema-generator 2.4.0 (MIT); do not edit, run .ci/standin/schema.mjs`)},`,
  '"methods": {',
  Object.entries(byMethod).map(([k, v]) => `${JSON.stringify(k)}: ${JSON.stringify(v)}`).join(',\n'),
  '},',
  '"definitions": {',
  Object.entries(definitions).map(([k, v]) => `${JSON.stringify(k)}: ${JSON.stringify(v)}`).join(',\n'),
  '}',
  '}',
  '',
]
const text = lines.join('\n')
JSON.parse(text)

if (process.argv[2] === 'write') {
  writeFileSync(target, text)
} else if (process.argv[2] === 'check') {
  if (readFileSync(target, 'utf8') !== text) {
    console.error('schema.json is not what the pinned packages give; run: node schema.mjs write')
    process.exit(1)
  }
} else {
  console.error('usage: node schema.mjs write|check')
  process.exit(2)
}
console.log(`schema: ${methods.length} methods, ${Object.keys(definitions).length} definitions, ${text.length} bytes, Bot API ${version}`)

-- save.lua: commit or delete one chat's document with its due entry, all or nothing.
-- KEYS  1 document (string)   2 due list (zset, score = unix ms)   3 epoch (string)
--       all three under the partition's hash tag
-- ARGV  1 revision the change was computed from: 8 bytes, or '' = must not exist
--       2 new value, its own 8-byte revision in front, or '' = delete
--       3 chat, the member of the due list
--       4 next due in unix ms, or '' = nothing due
--       5 milliseconds to keep the document, or '' = for ever
--       6 epoch of the lease the change was decided under, or '' = not fenced
-- Returns 1 done (or done before: the same commit sent again), 0 the document is at
-- another revision, -1 the partition has a newer holder. Nothing is written unless 1.
-- Cost: O(log N) for N entries of the due list.
--
-- All or nothing: every command that can fail for the type of a key runs before the
-- first write, and the first write is the only one a full server may refuse.
local have = redis.pcall('GETRANGE', KEYS[1], 0, 7)
if type(have) == 'table' and have.err then return have end
local listed = redis.pcall('ZSCORE', KEYS[2], ARGV[3])
if type(listed) == 'table' and listed.err then return listed end

if ARGV[2] ~= '' and have == string.sub(ARGV[2], 1, 8) then return 1 end
if ARGV[6] ~= '' then
  local epoch = redis.pcall('GET', KEYS[3])
  if type(epoch) == 'table' and epoch.err then return epoch end
  if epoch ~= ARGV[6] then return -1 end
end

if ARGV[2] == '' then
  if have ~= '' and have ~= ARGV[1] then return 0 end
  redis.call('DEL', KEYS[1])
  redis.call('ZREM', KEYS[2], ARGV[3])
  return 1
end

if have ~= ARGV[1] then return 0 end
if ARGV[5] == '' then
  redis.call('SET', KEYS[1], ARGV[2])
else
  redis.call('SET', KEYS[1], ARGV[2], 'PX', ARGV[5])
end
if ARGV[4] ~= '' then
  redis.call('ZADD', KEYS[2], ARGV[4], ARGV[3])
elseif listed then
  redis.call('ZREM', KEYS[2], ARGV[3])
end
return 1

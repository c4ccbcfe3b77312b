-- lease.lua: take, renew or give back the lease of one partition.
-- KEYS  1 lease (string, the holder's name, with a time to live)
--       2 epoch (string, counts up, never expires)      same hash tag
-- ARGV  1 'acquire', 'renew' or 'release'   2 holder   3 ttl in ms
--       4 epoch of the lease to renew or release; '' to acquire
-- Returns the epoch held after the call, 0 when it is not held. O(1).
--
-- The lease runs by the server's clock, so that two processes whose clocks differ
-- agree on it. Only taking and giving back move the epoch: while it stands, nobody
-- else took over, and a lease that ran out may still be renewed.
local epoch = redis.call('GET', KEYS[2])
if ARGV[1] == 'acquire' then
  local holder = redis.call('GET', KEYS[1])
  if holder and holder ~= ARGV[2] then return 0 end
  redis.call('SET', KEYS[1], ARGV[2], 'PX', ARGV[3])
  return redis.call('INCR', KEYS[2])
end
if epoch ~= ARGV[4] then return 0 end
if ARGV[1] == 'renew' then
  redis.call('SET', KEYS[1], ARGV[2], 'PX', ARGV[3])
  return tonumber(epoch)
end
redis.call('DEL', KEYS[1])
redis.call('INCR', KEYS[2])
return 0

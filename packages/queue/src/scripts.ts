// One list, so that a change of the queue's state is looked for in one place; over 250 lines for that.
// Every change of the queue's state is one of these scripts, so that no two processes can both believe they made it.
import type { Redis } from "ioredis";
import type { Keys } from "./keys.ts";

/** What the scripts share. Frozen shops and kits are counted as long as an open order needs them. */
const PRELUDE = `
local P = KEYS[1]
local T = redis.call('TIME')
local NOW = T[1] * 1000 + math.floor(T[2] / 1000)
local function key(name) return P .. '-order:' .. name end
local function get(name, field) return redis.call('HGET', key(name), field) end
local function enter(name, state)
  local was = get(name, 'state')
  if was then redis.call('ZREM', P .. '-in:' .. was, name) end
  redis.call('HSET', key(name), 'state', state, 'since', NOW, 'at:' .. state, NOW)
  redis.call('ZADD', P .. '-in:' .. state, NOW, name)
  if state == 'made' or state == 'refused' or state == 'failed' or state == 'cancelled' then redis.call('ZREM', P .. '-open', name)
  else redis.call('ZADD', P .. '-open', 'NX', NOW, name) end
  if was ~= state then redis.call('XADD', P .. '-events', 'MAXLEN', '~', 20000, '*', 'order', name, 'state', state) end
end
local function count(name, by)
  local hashes = (get(name, 'shop') or '') .. '\\n' .. (get(name, 'kits') or '') .. '\\n' .. (get(name, 'pictures') or '')
  for hash in string.gmatch(hashes, '[^\\n]+') do
    if redis.call('HINCRBY', P .. '-frozen', hash, by) <= 0 then redis.call('HDEL', P .. '-frozen', hash) end
  end
end
local function hold(name)
  if get(name, 'held') then return end
  redis.call('HSET', key(name), 'held', '1')
  count(name, 1)
end
local function drop(name)
  if not get(name, 'held') then return end
  count(name, -1)
  redis.call('HDEL', key(name), 'held')
end
local function forget(name)
  drop(name)
  local was = get(name, 'state')
  if was then redis.call('ZREM', P .. '-in:' .. was, name) end
  redis.call('ZREM', P .. '-open', name)
  redis.call('DEL', key(name), P .. '-answer:' .. name)
end
local function gangKey(id) return P .. '-gang:' .. id end
local function holds(id, token) return redis.call('HGET', gangKey(id), 'token') == token end
local function membersOf(id) return cjson.decode(redis.call('HGET', gangKey(id), 'orders') or '[]') end
local function shared(what, id) return P .. '-' .. what .. ':' .. id end
local function unshare(id)
  for _, what in ipairs({'share', 'free', 'own', 'held', 'by', 'written'}) do redis.call('DEL', shared(what, id)) end
  redis.call('ZREM', P .. '-offers', id)
end
local function lapsed(id)
  local n = redis.call('ZRANGEBYSCORE', shared('held', id), '-inf', NOW, 'LIMIT', 0, 1)[1]
  if n then redis.call('ZREM', shared('held', id), n) end
  return n
end
local function writes(id, token, n, claim) return holds(id, token) and redis.call('HGET', shared('by', id), n) == claim end
local function letGo(id, n)
  redis.call('ZREM', shared('held', id), n)
  redis.call('HDEL', shared('by', id), n)
end
local function endGang(id)
  unshare(id)
  redis.call('DEL', gangKey(id), P .. '-kills:' .. id)
  redis.call('ZREM', P .. '-gangs', id)
end
local function openGang(orders, like, why)
  local id = 'g' .. redis.call('INCR', P .. '-number')
  redis.call('HSET', gangKey(id), 'orders', cjson.encode(orders), unpack(like))
  redis.call('ZADD', P .. '-gangs', NOW, id)
  for _, name in ipairs(orders) do
    redis.call('HSET', key(name), 'gang', id, 'why', why)
    redis.call('HDEL', key(name), 'trouble')
    enter(name, 'ganged')
  end
  return id
end
local function open(state) return state == 'received' or state == 'checked' or state == 'waiting' end
local function mine(lease) return redis.call('GET', P .. '-clerk') == lease end
`;

const BODIES = {
  /**
   * Takes all orders of a submission or none. An order known with the same content stays as it is; with other content it is a
   * clash, unless it may be changed and is not ganged yet. One that waits and comes again to be made at once is. One that was
   * refused, failed or cancelled comes anew.
   * ARGV: effort, now, change, shop; then name, digest, file, text, due, rush, kits, pictures, again of each. Returns {"clash"|"ok", names...}.
   */
  submit: `
local fresh, clashes = {'ok'}, {'clash'}
for i = 5, #ARGV, 9 do
  local name, state = ARGV[i], get(ARGV[i], 'state')
  if not state or state == 'refused' or state == 'failed' or state == 'cancelled' then fresh[#fresh + 1] = name
  elseif get(name, 'digest') ~= ARGV[i + 1] then
    if ARGV[3] == '1' and open(state) then fresh[#fresh + 1] = name else clashes[#clashes + 1] = name end
  end
end
if #clashes > 1 then return clashes end
if ARGV[2] == '1' then
  for i = 5, #ARGV, 9 do
    if open(get(ARGV[i], 'state')) then redis.call('HSET', key(ARGV[i]), 'now', '1') end
  end
  redis.call('INCR', P .. '-number') -- the clerk looks again
end
if #fresh == 1 then return fresh end
local call, new = 'c' .. redis.call('INCR', P .. '-number'), {}
for i = 2, #fresh do new[fresh[i]] = true end
for i = 5, #ARGV, 9 do
  local name = ARGV[i]
  if new[name] then
    forget(name)
    redis.call('HSET', key(name), 'digest', ARGV[i + 1], 'file', ARGV[i + 2], 'text', ARGV[i + 3], 'due', ARGV[i + 4],
      'rush', ARGV[i + 5], 'kits', ARGV[i + 6], 'pictures', ARGV[i + 7], 'again', ARGV[i + 8], 'shop', ARGV[4], 'effort', ARGV[1], 'now', ARGV[2], 'call', call)
    if ARGV[4] ~= '' then hold(name) end
    enter(name, 'received')
  end
end
return fresh`,
  /** ARGV: lease, milliseconds. Returns 1 for the one process that decides; it must ask again before the time is over. */
  lease: `
local held = redis.call('GET', P .. '-clerk')
if held and held ~= ARGV[1] then return 0 end
redis.call('SET', P .. '-clerk', ARGV[1], 'PX', ARGV[2])
return 1`,
  /** Lets the decisions go to another process at once. ARGV: lease. */
  resign: `if mine(ARGV[1]) then redis.call('DEL', P .. '-clerk') end return 1`,
  /**
   * What the check of received orders has said. ARGV: lease; then name, submission, "ok"|"refused"|"failed", shop, kits, sheets or
   * answer of each. An order that was changed or cancelled meanwhile is passed over.
   */
  accept: `
if not mine(ARGV[1]) then return -1 end
local n = 0
for i = 2, #ARGV, 6 do
  local name = ARGV[i]
  if get(name, 'state') == 'received' and get(name, 'call') == ARGV[i + 1] then
    n = n + 1
    if ARGV[i + 2] == 'ok' then
      drop(name)
      redis.call('HSET', key(name), 'shop', ARGV[i + 3], 'kits', ARGV[i + 4], 'sheets', ARGV[i + 5])
      hold(name)
      enter(name, 'checked')
    else
      redis.call('SET', P .. '-answer:' .. name, ARGV[i + 5])
      if ARGV[i + 2] == 'refused' then
        redis.call('HDEL', key(name), 'text')
        drop(name)
      end
      enter(name, ARGV[i + 2])
    end
  end
end
return n`,
  /** Checked orders that no gang has taken at once: they wait for one. ARGV: lease, names... Returns how many. */
  wait: `
if not mine(ARGV[1]) then return -1 end
local n = 0
for i = 2, #ARGV do
  if get(ARGV[i], 'state') == 'checked' then enter(ARGV[i], 'waiting') n = n + 1 end
end
return n`,
  /**
   * Closes a gang: from here on its members do not change. ARGV: lease, effort, shop, kits, closed, why, lane, priority, names...
   * Returns its id, or {"not", name} when a member does not wait for a gang any more.
   */
  close: `
if not mine(ARGV[1]) then return {'not', ''} end
local names = {}
for i = 9, #ARGV do
  local state = get(ARGV[i], 'state')
  if state ~= 'checked' and state ~= 'waiting' then return {'not', ARGV[i]} end
  names[#names + 1] = ARGV[i]
end
return openGang(names, {'effort', ARGV[2], 'shop', ARGV[3], 'kits', ARGV[4], 'closed', ARGV[5], 'why', ARGV[6], 'lane', ARGV[7], 'priority', ARGV[8]}, ARGV[6])`,
  /**
   * Claims a gang for one attempt. A holder that neither ended nor gave it back was killed (or cut off): it is counted.
   * ARGV: id, holder. Returns {} when the gang has ended, else {token, kills, intent, answers, orders, effort, shop, kits, closed, why,
   * 1 when it was a dead process's}.
   */
  begin: `
local id, g = ARGV[1], gangKey(ARGV[1])
if redis.call('EXISTS', g) == 0 then return {} end
local held, over = redis.call('HGET', g, 'holder'), 0
if held and held ~= ARGV[2] then over = redis.call('SADD', P .. '-kills:' .. id, held) end
local token = redis.call('INCR', P .. '-fence') .. '-' .. ARGV[2]
redis.call('HSET', g, 'token', token, 'holder', ARGV[2])
redis.call('HDEL', g, 'progress')
unshare(id)
redis.call('ZREM', P .. '-idle', ARGV[2])
for _, name in ipairs(membersOf(id)) do enter(name, 'making') end
local f = redis.call('HMGET', g, 'intent', 'answers', 'orders', 'effort', 'shop', 'kits', 'closed', 'why')
return {token, redis.call('SCARD', P .. '-kills:' .. id), f[1] or '', f[2] or '', f[3], f[4], f[5], f[6], f[7], f[8], over}`,
  /** Still the holder? Notes how far it is. ARGV: id, token, progress. Returns 0 when the claim is another's by now. */
  beat: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
if ARGV[3] ~= '' then redis.call('HSET', gangKey(ARGV[1]), 'progress', ARGV[3]) end
return 1`,
  /** What an attempt waits for, or that it goes on. ARGV: id, token, cause. */
  trouble: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
for _, name in ipairs(membersOf(ARGV[1])) do
  if ARGV[3] == '' then redis.call('HDEL', key(name), 'trouble') else redis.call('HSET', key(name), 'trouble', ARGV[3]) end
end
return 1`,
  /**
   * Gives the gang back unfinished. ARGV: id, token, holder, trouble. Returns how often it met trouble so far, or -1 from one
   * whose claim is another's: it is alive, so it was not killed.
   */
  release: `
local g = gangKey(ARGV[1])
if not holds(ARGV[1], ARGV[2]) then redis.call('SREM', P .. '-kills:' .. ARGV[1], ARGV[3]) return -1 end
redis.call('HDEL', g, 'holder', 'progress')
redis.call('HSET', g, 'token', '')
unshare(ARGV[1])
for _, name in ipairs(membersOf(ARGV[1])) do
  if ARGV[4] ~= '' then redis.call('HSET', key(name), 'trouble', ARGV[4]) end
  enter(name, 'ganged')
end
if ARGV[4] == '' then return 0 end
return redis.call('HINCRBY', g, 'troubles', 1)`,
  /**
   * The point of no return: this attempt, and no other, is the gang's. Whoever holds the claim from now on only moves its
   * folder to its place. ARGV: id, token, intent, answers. Returns 0 when the claim is another's.
   */
  commit: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
redis.call('HSET', gangKey(ARGV[1]), 'intent', ARGV[3], 'answers', ARGV[4])
return 1`,
  /** The committed attempt's folder is nowhere: somebody removed it. ARGV: id, token. */
  uncommit: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
redis.call('HDEL', gangKey(ARGV[1]), 'intent', 'answers')
return 1`,
  /**
   * The end of a gang, all answers at once. ARGV: id, token; then order, end, answer of each. Returns 0 when the claim is
   * another's or the gang has ended.
   */
  finish: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
for i = 3, #ARGV, 3 do
  local name = ARGV[i]
  redis.call('SET', P .. '-answer:' .. name, ARGV[i + 2])
  redis.call('HDEL', key(name), 'trouble')
  if ARGV[i + 1] ~= 'failed' then
    redis.call('HDEL', key(name), 'text')
    drop(name)
  end
  enter(name, ARGV[i + 1])
end
endGang(ARGV[1])
return 1`,
  /** How many processes wait for parts to do. */
  idle: `
redis.call('ZREMRANGEBYSCORE', P .. '-idle', '-inf', NOW)
return redis.call('ZCARD', P .. '-idle')`,
  /** Offers parts of a gang, of one of its stages, to whoever waits; what was offered before is over. ARGV: id, token, versions; then names of parts. Returns 0 when the claim is another's. */
  offer: `
if not holds(ARGV[1], ARGV[2]) then return 0 end
unshare(ARGV[1])
redis.call('HSET', shared('share', ARGV[1]), 'token', ARGV[2], 'versions', ARGV[3])
for i = 4, #ARGV do redis.call('RPUSH', shared('free', ARGV[1]), ARGV[i]) end
redis.call('ZADD', P .. '-offers', NOW, ARGV[1])
return 1`,
  /**
   * The next part for the one who makes the gang: what others could not do, what nobody has, what was not finished in time.
   * ARGV: id, token, number of finished parts that it knows. Returns {part or "", how many others have, "part file" of each
   * finished since}; {} when the claim is another's.
   */
  take: `
local id = ARGV[1]
if not holds(id, ARGV[2]) then return {} end
local n = redis.call('LPOP', shared('own', id)) or redis.call('LPOP', shared('free', id)) or lapsed(id)
if n then redis.call('HSET', shared('by', id), n, '') end
local answer = {n or '', redis.call('ZCARD', shared('held', id))}
for _, one in ipairs(redis.call('LRANGE', shared('written', id), ARGV[3], -1)) do answer[#answer + 1] = one end
return answer`,
  /**
   * Says that a process waits for parts, and gives it one for some time. ARGV: holder, ms that it waits, claim, ms of the claim,
   * versions; then tokens of gangs that it cannot help. Returns {gang, token, part}, or {}.
   */
  help: `
redis.call('ZADD', P .. '-idle', NOW + ARGV[2], ARGV[1])
local unable = {}
for i = 6, #ARGV do unable[ARGV[i]] = true end
for _, id in ipairs(redis.call('ZRANGE', P .. '-offers', 0, -1)) do
  local f = redis.call('HMGET', shared('share', id), 'token', 'versions')
  if f[1] and holds(id, f[1]) and f[2] == ARGV[5] and not unable[f[1]] then
    local n = redis.call('LPOP', shared('free', id)) or lapsed(id)
    if n then
      redis.call('ZADD', shared('held', id), NOW + ARGV[4], n)
      redis.call('HSET', shared('by', id), n, ARGV[3])
      return {id, f[1], n}
    end
  end
end
return {}`,
  /** Goes on with a part for some time. ARGV: id, token, part, claim, ms. Returns 0 when it is another's by now. */
  holdPart: `
if not writes(ARGV[1], ARGV[2], ARGV[3], ARGV[4]) then return 0 end
redis.call('ZADD', shared('held', ARGV[1]), NOW + ARGV[5], ARGV[3])
return 1`,
  /** A part is done. ARGV: id, token, part, claim, file. Returns 0 when it is another's by now. */
  wrote: `
if not writes(ARGV[1], ARGV[2], ARGV[3], ARGV[4]) then return 0 end
letGo(ARGV[1], ARGV[3])
redis.call('RPUSH', shared('written', ARGV[1]), ARGV[3] .. ' ' .. ARGV[5])
return 1`,
  /** A part that could not be done: the one who makes the gang does it. ARGV: id, token, part, claim. Returns 0 when it is another's by now. */
  giveUp: `
if not writes(ARGV[1], ARGV[2], ARGV[3], ARGV[4]) then return 0 end
letGo(ARGV[1], ARGV[3])
redis.call('RPUSH', shared('own', ARGV[1]), ARGV[3])
return 1`,
  /**
   * A gang that cannot be made as it is. ARGV: id, token, why; then the orders that are to be made each by itself, while the others
   * stay together; without any, each of its orders by itself. Returns the new ids.
   */
  split: `
if not holds(ARGV[1], ARGV[2]) then return {} end
local g, ids, alone, rest = gangKey(ARGV[1]), {}, {}, {}
local f = redis.call('HMGET', g, 'effort', 'shop', 'kits', 'lane', 'priority')
local function open(names, why)
  ids[#ids + 1] = openGang(names, {'effort', f[1], 'shop', f[2], 'kits', f[3], 'closed', 'split', 'why', why, 'lane', f[4], 'priority', f[5]}, why)
end
for i = 4, #ARGV do alone[ARGV[i]] = true end
for _, name in ipairs(membersOf(ARGV[1])) do
  if #ARGV == 3 or alone[name] then open({name}, ARGV[3]) else rest[#rest + 1] = name end
end
if #rest > 0 then open(rest, get(rest[1], 'why') or ARGV[3]) end
endGang(ARGV[1])
return ids`,
  /** ARGV: name. Returns "cancelled", or the state that forbids it, or "". */
  cancel: `
local state = get(ARGV[1], 'state')
if not state then return '' end
if open(state) or state == 'failed' or state == 'refused' then
  drop(ARGV[1])
  redis.call('HDEL', key(ARGV[1]), 'text', 'trouble')
  redis.call('DEL', P .. '-answer:' .. ARGV[1])
  enter(ARGV[1], 'cancelled')
  return 'cancelled'
end
return state`,
  /** A failed order once more, at once and by itself, as it was frozen. ARGV: name. Returns "again", or its state, or "". */
  retry: `
local state = get(ARGV[1], 'state')
if not state then return '' end
if state ~= 'failed' then return state end
redis.call('DEL', P .. '-answer:' .. ARGV[1])
redis.call('HSET', key(ARGV[1]), 'now', '1', 'call', 'c' .. redis.call('INCR', P .. '-number'))
redis.call('HDEL', key(ARGV[1]), 'trouble', 'gang')
if get(ARGV[1], 'sheets') then enter(ARGV[1], 'checked') else enter(ARGV[1], 'received') end
return 'again'`,
  /** Forgets orders that ended before a time, at most so many of each state. ARGV: milliseconds of age, most. Returns how many. */
  expire: `
local n = 0
for _, state in ipairs({'made', 'refused', 'failed', 'cancelled'}) do
  local names = redis.call('ZRANGEBYSCORE', P .. '-in:' .. state, '-inf', NOW - ARGV[1], 'LIMIT', 0, ARGV[2])
  for _, name in ipairs(names) do forget(name) n = n + 1 end
end
return n`,
} as const;

export type ScriptName = keyof typeof BODIES;

/** Runs one script. Redis caches it by its text's hash; ioredis sends the text only when it is not there. */
export const script = async (
  redis: Redis,
  keys: Keys,
  name: ScriptName,
  ...args: readonly (string | number)[]
): Promise<unknown> => {
  const command = `kitforme:${name}`;
  // A connection knows what was defined on it.
  if (!(command in redis)) redis.defineCommand(command, { numberOfKeys: 1, lua: PRELUDE + BODIES[name] });
  const run = (redis as unknown as Record<string, (...all: (string | number)[]) => Promise<unknown>>)[command];
  if (!run) throw new Error(`no script ${name}`);
  return run.call(redis, keys.prefix, ...args);
};

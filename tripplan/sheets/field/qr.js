// A QR code of bytes, error correction M (ISO/IEC 18004), for a phone that can be photographed but not connected.
// Gives rows of true and false. Which mask is best is reckoned by the penalties of the standard.
const Qr = (() => {
  const EC_PER_BLOCK = [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26];
  const BLOCKS = [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16];
  const LEVEL_M = 0;

  // The field of 256 elements over x^8 + x^4 + x^3 + x^2 + 1, and Reed-Solomon over it.
  const EXP = new Uint8Array(512);
  const LOG = new Uint8Array(256);
  for (let power = 0, value = 1; power < 255; power += 1) {
    EXP[power] = value;
    EXP[power + 255] = value;
    LOG[value] = power;
    value = value < 128 ? value << 1 : ((value << 1) ^ 0x11d) & 255;
  }
  const times = (a, b) => (a && b ? EXP[LOG[a] + LOG[b]] : 0);

  const divisor = (degree) => {
    let found = [1];
    for (let power = 0; power < degree; power += 1) {
      const next = [...found, 0];
      found.forEach((part, at) => { next[at + 1] ^= times(part, EXP[power]); });
      found = next;
    }
    return found.slice(1);
  };

  const remainder = (data, by) => {
    const rest = new Array(by.length).fill(0);
    for (const byte of data) {
      const factor = byte ^ rest.shift();
      rest.push(0);
      by.forEach((part, at) => { rest[at] ^= times(part, factor); });
    }
    return rest;
  };

  const marksAt = (version) => {
    if (version === 1) return [];
    const size = version * 4 + 17;
    const count = Math.floor(version / 7) + 2;
    const step = Math.ceil((size - 13) / (2 * count - 2)) * 2;
    return [6, ...Array.from({ length: count - 1 }, (_, at) => size - 7 - step * (count - 2 - at))];
  };

  const rawBits = (version) => {
    const count = version === 1 ? 0 : Math.floor(version / 7) + 2;
    const marks = count ? (count * count - 3) * 25 - (count - 2) * 10 : 0;
    return (16 * version + 128) * version + 64 - marks - (version >= 7 ? 36 : 0);
  };

  const dataBytes = (version) => Math.floor(rawBits(version) / 8) - EC_PER_BLOCK[version - 1] * BLOCKS[version - 1];

  const codewords = (bytes, version) => {
    const bits = [];
    const put = (value, length) => { for (let bit = length - 1; bit >= 0; bit -= 1) bits.push((value >>> bit) & 1); };
    put(4, 4);
    put(bytes.length, version < 10 ? 8 : 16);
    bytes.forEach((byte) => put(byte, 8));
    const room = dataBytes(version) * 8;
    put(0, Math.min(4, room - bits.length));
    put(0, (8 - (bits.length % 8)) % 8);
    for (let pad = 0xec; bits.length < room; pad ^= 0xec ^ 0x11) put(pad, 8);
    return Array.from({ length: room / 8 }, (_, at) => bits.slice(at * 8, at * 8 + 8).reduce((sum, bit) => sum * 2 + bit, 0));
  };

  // The data cut into blocks, each with its own correction, and all of them dealt out in turn.
  const dealt = (data, version) => {
    const blocks = BLOCKS[version - 1];
    const degree = EC_PER_BLOCK[version - 1];
    const total = Math.floor(rawBits(version) / 8);
    const long = total % blocks;
    const short = Math.floor(total / blocks) - degree;
    const by = divisor(degree);
    let at = 0;
    const parts = Array.from({ length: blocks }, (_, block) => {
      const own = data.slice(at, at += short + (block >= blocks - long ? 1 : 0));
      return { own, ec: remainder(own, by) };
    });
    const found = [];
    for (let spot = 0; spot <= short; spot += 1) parts.forEach(({ own }) => { if (spot < own.length) found.push(own[spot]); });
    for (let spot = 0; spot < degree; spot += 1) parts.forEach(({ ec }) => found.push(ec[spot]));
    return found;
  };

  const bch = (value, poly, degree) => {
    let rest = value;
    for (let step = 0; step < degree; step += 1) rest = (rest << 1) ^ ((rest >>> (degree - 1)) * poly);
    return (value << degree) | rest;
  };

  const MASKS = [
    (x, y) => (x + y) % 2 === 0, (x, y) => y % 2 === 0, (x) => x % 3 === 0, (x, y) => (x + y) % 3 === 0,
    (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2 === 0, (x, y) => ((x * y) % 2) + ((x * y) % 3) === 0,
    (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2 === 0, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2 === 0,
  ];

  const plain = (version) => {
    const size = version * 4 + 17;
    const on = Array.from({ length: size }, () => new Array(size).fill(false));
    const fixed = Array.from({ length: size }, () => new Array(size).fill(false));
    const set = (x, y, dark) => { if (x >= 0 && y >= 0 && x < size && y < size) { on[y][x] = dark; fixed[y][x] = true; } };
    for (let at = 0; at < size; at += 1) { set(6, at, at % 2 === 0); set(at, 6, at % 2 === 0); }
    for (const [cx, cy] of [[3, 3], [size - 4, 3], [3, size - 4]]) {
      for (let dy = -4; dy <= 4; dy += 1) {
        for (let dx = -4; dx <= 4; dx += 1) {
          const ring = Math.max(Math.abs(dx), Math.abs(dy));
          set(cx + dx, cy + dy, ring !== 2 && ring !== 4);
        }
      }
    }
    const marks = marksAt(version);
    const last = marks.length - 1;
    marks.forEach((cx, i) => marks.forEach((cy, j) => {
      if ((i === 0 && j === 0) || (i === 0 && j === last) || (i === last && j === 0)) return;
      for (let dy = -2; dy <= 2; dy += 1) for (let dx = -2; dx <= 2; dx += 1) set(cx + dx, cy + dy, Math.max(Math.abs(dx), Math.abs(dy)) !== 1);
    }));
    return { size, on, fixed, set };
  };

  const format = ({ size, set }, mask) => {
    const bits = bch((LEVEL_M << 3) | mask, 0x537, 10) ^ 0x5412;
    const bit = (at) => ((bits >>> at) & 1) === 1;
    for (let at = 0; at <= 5; at += 1) set(8, at, bit(at));
    set(8, 7, bit(6)); set(8, 8, bit(7)); set(7, 8, bit(8));
    for (let at = 9; at < 15; at += 1) set(14 - at, 8, bit(at));
    for (let at = 0; at < 8; at += 1) set(size - 1 - at, 8, bit(at));
    for (let at = 8; at < 15; at += 1) set(8, size - 15 + at, bit(at));
    set(8, size - 8, true);
  };

  const versionMarks = ({ size, set }, version) => {
    if (version < 7) return;
    const bits = bch(version, 0x1f25, 12);
    for (let at = 0; at < 18; at += 1) {
      const dark = ((bits >>> at) & 1) === 1;
      const [a, b] = [size - 11 + (at % 3), Math.floor(at / 3)];
      set(a, b, dark);
      set(b, a, dark);
    }
  };

  const fill = ({ size, on, fixed }, bytes) => {
    let at = 0;
    for (let right = size - 1; right >= 1; right -= 2) {
      if (right === 6) right = 5;
      for (let step = 0; step < size; step += 1) {
        for (let side = 0; side < 2; side += 1) {
          const x = right - side;
          const y = ((right + 1) & 2) === 0 ? size - 1 - step : step;
          if (!fixed[y][x]) {
            on[y][x] = at < bytes.length * 8 && ((bytes[at >>> 3] >>> (7 - (at & 7))) & 1) === 1;
            at += 1;
          }
        }
      }
    }
  };

  const FINDER = "10111010000";
  const FINDER_BACK = "00001011101";
  const penalty = (on) => {
    const size = on.length;
    let sum = 0;
    const lines = [...on, ...on.map((_, x) => on.map((row) => row[x]))];
    for (const line of lines) {
      let run = 1;
      for (let at = 1; at <= size; at += 1) {
        if (at < size && line[at] === line[at - 1]) run += 1;
        else { if (run >= 5) sum += run - 2; run = 1; }
      }
      const text = line.map((dark) => (dark ? "1" : "0")).join("");
      for (let at = 0; at + 11 <= size; at += 1) {
        const part = text.slice(at, at + 11);
        if (part === FINDER || part === FINDER_BACK) sum += 40;
      }
    }
    let dark = 0;
    for (let y = 0; y < size; y += 1) {
      for (let x = 0; x < size; x += 1) {
        dark += on[y][x];
        if (x + 1 < size && y + 1 < size && on[y][x] === on[y][x + 1] && on[y][x] === on[y + 1][x] && on[y][x] === on[y + 1][x + 1]) sum += 3;
      }
    }
    return sum + Math.floor(Math.abs((dark * 100) / (size * size) - 50) / 5) * 10;
  };

  const masked = (bytes, version, mask) => {
    const code = plain(version);
    format(code, mask);
    versionMarks(code, version);
    fill(code, bytes);
    for (let y = 0; y < code.size; y += 1) for (let x = 0; x < code.size; x += 1) if (!code.fixed[y][x] && MASKS[mask](x, y)) code.on[y][x] = !code.on[y][x];
    return code.on;
  };

  const versionFor = (length) => {
    for (let version = 1; version <= BLOCKS.length; version += 1) {
      if (4 + (version < 10 ? 8 : 16) + length * 8 <= dataBytes(version) * 8) return version;
    }
    throw new RangeError(`${length} bytes are too many for one code`);
  };

  const encode = (text, wanted) => {
    const bytes = [...text].map((mark) => mark.charCodeAt(0));
    const version = versionFor(bytes.length);
    const dealtOut = dealt(codewords(bytes, version), version);
    const all = MASKS.map((_, mask) => masked(dealtOut, version, mask));
    if (wanted !== undefined) return all[wanted];
    const sums = all.map(penalty);
    return all[sums.indexOf(Math.min(...sums))];
  };

  return { encode };
})();
if (typeof module === "object") module.exports = Qr;

// The records as plain text, form 1: a first line, what trip it is of, one record a line with its checksum, an end.
// Only marks of ASCII are used, so that no mail and no clipboard can change a letter. The other side reads it in
// tripplan/files/field_records/.
const Text = (() => {
  const FIRST = "tripplan field records, form 1";
  const TABLE = Array.from({ length: 256 }, (_, byte) => {
    let value = byte;
    for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
    return value >>> 0;
  });

  // The sum of ISO 3309, as zlib has it, over ASCII.
  const sum = (text) => {
    let value = 0xffffffff;
    for (let at = 0; at < text.length; at += 1) value = TABLE[(value ^ text.charCodeAt(at)) & 255] ^ (value >>> 8);
    return ((value ^ 0xffffffff) >>> 0).toString(16).padStart(8, "0");
  };

  const plain = (value) => JSON.stringify(value)
    .replace(/[\u007f-\uffff]/g, (mark) => `\\u${mark.charCodeAt(0).toString(16).padStart(4, "0")}`);

  const line = (value) => `${sum(plain(value))} ${plain(value)}`;

  const build = (head, records) => {
    const lines = [FIRST, line(head), ...records.map(line)];
    return `${lines.join("\n")}\nend ${records.length} ${sum(lines.join("\n"))}\n`;
  };

  // The same text in parts that fit a square each. A part is one line, in any order; the ends of lines are tabs in it.
  const PART_BYTES = 400;
  const parts = (text) => {
    const whole = text.replaceAll("\n", "\t");
    const count = Math.ceil(whole.length / PART_BYTES);
    return Array.from({ length: count }, (_, at) =>
      `tripplan field part ${at + 1}/${count} ${sum(text)} ${whole.slice(at * PART_BYTES, (at + 1) * PART_BYTES)}|`);
  };

  return { build, parts, sum, FIRST };
})();
if (typeof module === "object") module.exports = Text;

// Draws codes of texts by the encoder of the phone: node draw_codes.js qr.js texts.json
"use strict";
const fs = require("fs");
const Qr = require(require("path").resolve(process.argv[2]));
const drawn = ({ text, mask }) => Qr.encode(text, mask).map((row) => row.map((dark) => (dark ? "1" : "0")).join(""));
process.stdout.write(JSON.stringify(JSON.parse(fs.readFileSync(process.argv[3], "utf8")).map(drawn)));

// Answers cases of crossings by the interpreter of the phone: node ask_phone.js water.js cases.json
"use strict";
const fs = require("fs");
const Water = require(require("path").resolve(process.argv[2]));
const answer = ({ data, cases }) => cases.map(({ crossings, rows, today }) => {
  const desk = new Water.Desk(data, crossings, [...data.rows, ...rows].map(Water.rowOf), today);
  return {
    calls: desk.calls().map((call) => [call.crossing.row, call.unit, call.item, call.position, call.rule.when,
      call.rule.water, call.rule.act, call.grade, call.contingent, call.missed, call.by_km, call.by_date]),
    grades: desk.crossings.flatMap((crossing) => desk.grades(crossing)
      .map((grade) => [crossing.row, grade.unit, grade.number, grade.because])),
  };
});
process.stdout.write(JSON.stringify(JSON.parse(fs.readFileSync(process.argv[3], "utf8")).map(answer)));

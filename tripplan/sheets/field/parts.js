// Small helpers of the page: elements without any text read as markup, days and times in words, names of records.
const Parts = (() => {
  const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

  const el = (tag, told = {}, ...inside) => {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(told)) {
      if (name === "onclick" || name === "oninput" || name === "onchange") made[name] = value;
      else if (value === true) made.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
    }
    made.append(...inside.filter((one) => one !== null && one !== undefined && one !== ""));
    return made;
  };

  const two = (number) => String(number).padStart(2, "0");
  const dayOf = (date) => `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const minuteOf = (date) => `${dayOf(date)}T${two(date.getHours())}:${two(date.getMinutes())}`;

  const stamp = (date) => {
    const off = -date.getTimezoneOffset();
    const zone = `${off < 0 ? "-" : "+"}${two(Math.floor(Math.abs(off) / 60))}:${two(Math.abs(off) % 60)}`;
    return `${minuteOf(date)}:${two(date.getSeconds())}${zone}`;
  };

  const dayWords = (day) => {
    const [year, month, date] = day.split("-").map(Number);
    return `${WEEKDAYS[new Date(year, month - 1, date).getDay()]} ${date} ${MONTHS[month - 1]}`;
  };

  const duration = (minutes) => {
    const whole = Math.floor(minutes + 0.5);
    const hours = Math.floor(whole / 60);
    if (!hours) return `${whole} min`;
    return whole % 60 ? `${hours} h ${two(whole % 60)} min` : `${hours} h`;
  };

  const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);
  const figure = (value) => String(Math.round(value * 100) / 100);
  const count = (number, one, many) => `${number} ${number === 1 ? one : many}`;

  // Names of records sort in the order in which they were made, and no two phones give the same.
  let made = 0;
  const newId = (date) => {
    const chance = crypto.getRandomValues(new Uint32Array(2));
    made += 1;
    return `${date.getTime().toString(36)}-${made.toString(36).padStart(4, "0")}${[...chance].map((part) => part.toString(36).padStart(7, "0")).join("")}`;
  };

  // What a number may be as a person types it: 0,7 and 0.7 are the same; 281.540 is one of two; none where it is no number.
  const numbers = (text) => {
    const plain = text.trim().replace(/\s/g, "").replace(",", ".");
    if (!/^\d+(\.\d+)?$/.test(plain)) return [];
    return /^[1-9]\d{0,2}\.\d{3}$/.test(plain) ? [Number(plain.replace(".", "")), Number(plain)] : [Number(plain)];
  };

  // The number, null where it is none or one of two.
  const number = (text) => {
    const found = numbers(text);
    return found.length === 1 ? found[0] : null;
  };

  return { el, dayOf, minuteOf, stamp, dayWords, duration, upper, figure, count, newId, numbers, number };
})();
if (typeof module === "object") module.exports = Parts;

// Where the records are kept on the phone: in the browser's own database, else in its small store, else nowhere but
// in this page, and then that is said at once. A record is told as kept only when the store has said so.
const Store = (() => {
  const NAME = "tripplan field";
  const WAIT_MS = 4000;

  const asked = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  const inTime = (promise) => Promise.race([promise, new Promise((_, reject) => {
    setTimeout(() => reject(new Error("the database did not answer")), WAIT_MS);
  })]);

  const database = async (key) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("records", { keyPath: ["trip", "id"] });
    const opened = await inTime(asked(request));
    const all = async () => {
      const range = IDBKeyRange.bound([key], [key, []]);
      return (await asked(opened.transaction("records").objectStore("records").getAll(range))).map((kept) => kept.record);
    };
    const add = (record) => new Promise((resolve, reject) => {
      const change = opened.transaction("records", "readwrite", { durability: "strict" });
      change.oncomplete = () => resolve();
      change.onabort = () => reject(change.error || new Error("not kept"));
      change.onerror = () => reject(change.error || new Error("not kept"));
      change.objectStore("records").put({ trip: key, id: record.id, record });
    });
    await inTime(all());
    return { kind: "database", all, add };
  };

  const small = (key) => {
    const start = `${NAME} ${key} `;
    localStorage.setItem(`${NAME} trial`, "1");
    localStorage.removeItem(`${NAME} trial`);
    const all = async () => Object.keys(localStorage).filter((name) => name.startsWith(start))
      .map((name) => JSON.parse(localStorage.getItem(name)));
    const add = async (record) => localStorage.setItem(start + record.id, JSON.stringify(record));
    return { kind: "small", all, add };
  };

  const none = () => ({ kind: "none", all: async () => [], add: async () => undefined });

  const open = async (key) => {
    try {
      return await database(key);
    } catch (_) {
      try {
        return small(key);
      } catch (__) {
        return none();
      }
    }
  };

  return { open };
})();

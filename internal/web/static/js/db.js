// What this device keeps: IndexedDB with two stores, or memory where the browser refuses it.

const NAME = "evenstroke", VERSION = 1;
let opening;
let memory = null; // {entries: Map, watches: Map} when there is no IndexedDB
let nextN = 1;

function open() {
  opening ??= new Promise((done) => {
    let request;
    const without = () => {
      memory ??= { entries: new Map(), watches: new Map() };
      done(null);
    };
    try {
      request = indexedDB.open(NAME, VERSION);
    } catch {
      return without();
    }
    request.onupgradeneeded = () => {
      request.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true }).createIndex("key", "key", { unique: true });
      request.result.createObjectStore("watches", { keyPath: "id" });
    };
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => db.close(); // another tab brings a newer version
      db.onclose = () => { opening = undefined; };
      done(db);
    };
    request.onerror = without;
  });
  return opening;
}

/** durable says whether entries outlive the page. */
export async function durable() {
  await open();
  return memory === null;
}

async function run(store, mode, work, inMemory) {
  const db = await open();
  if (!db) return inMemory(memory[store]);
  return new Promise((done, fail) => {
    const tx = db.transaction(store, mode, { durability: store === "entries" && mode === "readwrite" ? "strict" : "default" });
    const request = work(tx.objectStore(store));
    tx.oncomplete = () => done(request?.result);
    tx.onerror = tx.onabort = () => fail(tx.error ?? new Error("the browser did not keep the entry"));
  });
}

/** put keeps a value; a new entry gets its number n. */
export function put(store, value) {
  return run(store, "readwrite", (s) => s.put(value), (m) => {
    if (store === "entries") value.n ??= nextN++;
    m.set(value.n ?? value.id, value);
    return value.n ?? value.id;
  }).then((key) => {
    if (store === "entries") value.n ??= key;
    return value;
  });
}

/** all lists a store in order. */
export const all = (store) => run(store, "readonly", (s) => s.getAll(), (m) => [...m.values()]);

/** get reads one value. */
export const get = (store, key) => run(store, "readonly", (s) => s.get(key), (m) => m.get(key));

/** drop removes one value. */
export const drop = (store, key) => run(store, "readwrite", (s) => s.delete(key), (m) => m.delete(key));

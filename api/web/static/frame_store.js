// Frames of sound that the server has not said to be safe, kept in this browser's own database: a lost
// connection, a reload or a flat battery of the network's box loses none of them.

const NAME = "witnessmark-frames";

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export class FrameStore {
  static async open() {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("frames");
    return new FrameStore(await asked(request));
  }

  constructor(database) {
    this.database = database;
  }

  frames(mode) {
    return this.database.transaction("frames", mode).objectStore("frames");
  }

  /** Keep a frame; it is in the database when this resolves. */
  put(recording, number, samples) {
    return asked(this.frames("readwrite").put(samples, [recording, number]));
  }

  /** Forget the frames of a recording before a number. */
  async forget(recording, before) {
    if (before <= 0) return; // a range from 0 to before 0 is none
    await asked(this.frames("readwrite").delete(IDBKeyRange.bound([recording, 0], [recording, before], false, true)));
  }

  /** Numbers and samples of at most `most` frames of a recording, from a number on, in order. */
  async from(recording, number, most = 50) {
    const range = IDBKeyRange.bound([recording, number], [recording, Number.MAX_SAFE_INTEGER]);
    const store = this.frames("readonly");
    const [keys, values] = await Promise.all([asked(store.getAllKeys(range, most)), asked(store.getAll(range, most))]);
    return keys.map((key, i) => ({ number: key[1], samples: values[i] }));
  }

  /** Number of the last frame of a recording that is kept, or -1. */
  async last(recording) {
    const range = IDBKeyRange.bound([recording, 0], [recording, Number.MAX_SAFE_INTEGER]);
    const cursor = await asked(this.frames("readonly").openKeyCursor(range, "prev"));
    return cursor ? cursor.key[1] : -1;
  }
}

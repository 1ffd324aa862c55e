/* The queue as it is kept on the tablet. An entry's number is given by the store and never used twice. */

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("floor", 1);
    asked.onupgradeneeded = () =>
      asked.result.createObjectStore("queue", { keyPath: "number", autoIncrement: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

async function within(mode, act) {
  const base = await opened();
  try {
    return await new Promise((resolve, reject) => {
      const change = base.transaction("queue", mode, { durability: "strict" });
      const asked = act(change.objectStore("queue"));
      change.oncomplete = () => resolve(asked.result);
      change.onerror = () => reject(change.error);
      change.onabort = () => reject(change.error);
    });
  } finally {
    base.close();
  }
}

/* Another tab of the tablet hears of every change, so that it says the same and queues behind it. */
const tabs = new BroadcastChannel("floor-queue");

export function whenOthersChange(act) {
  tabs.addEventListener("message", act);
}

async function changed(act) {
  const result = await within("readwrite", act);
  tabs.postMessage("changed");
  window.dispatchEvent(new Event("queue-changed"));
  return result;
}

export const add = (entry) => changed((queue) => queue.add(entry));
export const change = (entry) => changed((queue) => queue.put(entry));
export const forget = (number) => changed((queue) => queue.delete(number));
export const all = () => within("readonly", (queue) => queue.getAll());

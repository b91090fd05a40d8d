// A scanner types: characters less than 50 ms apart, ended by Enter or Tab.  Such a scan is taken
// wherever the focus is, and leaves nothing behind in the field it fell into.

const GAP_MS = 50;
const SHORTEST = 4;

export class ScanReader {
  constructor(taken) {
    this.taken = taken;
    this.text = "";
    this.last = 0;
    this.field = null;
    this.before = "";
  }

  // True when the key ended a scan: then nobody else should see it.
  key(event) {
    const now = event.timeStamp;
    const fast = now - this.last < GAP_MS;
    this.last = now;
    if ((event.key === "Enter" || event.key === "Tab") && fast && this.text.length >= SHORTEST) {
      const scan = this.text;
      this.restore();
      this.text = "";
      this.taken(scan);
      return true;
    }
    if (event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey) return false;
    if (!fast) this.begin(event.target);
    this.text += event.key;
    return false;
  }

  begin(target) {
    this.text = "";
    this.field = target instanceof HTMLInputElement ? target : null;
    this.before = this.field ? this.field.value : "";
  }

  restore() {
    if (this.field) this.field.value = this.before;
  }
}

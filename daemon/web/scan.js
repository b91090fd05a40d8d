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
    const fast = event.timeStamp - this.last < GAP_MS;
    if (event.key === "Enter" || event.key === "Tab") return this.end(fast);
    if (event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey) return false;
    if (!fast || this.text === "") this.begin(event.target);
    this.last = event.timeStamp;
    this.text += event.key;
    return false;
  }

  end(fast) {
    const scan = this.text;
    this.text = "";
    if (!fast || scan.length < SHORTEST) return false;
    if (this.field) this.field.value = this.before;
    this.taken(scan);
    return true;
  }

  begin(target) {
    this.text = "";
    this.field = target instanceof HTMLInputElement ? target : null;
    this.before = this.field ? this.field.value : "";
  }
}

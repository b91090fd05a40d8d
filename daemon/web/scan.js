// A scanner types: characters less than 50 ms apart, ended by Enter or Tab.  Such a scan is taken
// wherever the focus is, and leaves nothing behind in the field it fell into.
//
// In the page's own scan field no such test is needed: its whole text is taken by Enter, so that a
// scan that stutters is still whole.  Only what was left there from before a scan is dropped.

const GAP_MS = 50;
const SHORTEST = 4;
const LEFT_OVER_MS = 1000;

export class ScanReader {
  // `own`: where typing goes when no field has the focus; null when it goes nowhere.
  constructor(taken, own = null) {
    this.taken = taken;
    this.own = own;
    this.text = "";
    this.last = 0;
    this.pause = 0;
    this.field = null;
    this.before = "";
  }

  // True when the key ended a scan: then nobody else should see it.
  key(event) {
    const gap = event.timeStamp - this.last;
    if (event.key === "Enter" || event.key === "Tab") return this.end(gap < GAP_MS);
    if (event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey) return false;
    if (gap >= GAP_MS || this.text === "") this.begin(event.target, gap);
    this.last = event.timeStamp;
    this.text += event.key;
    return false;
  }

  begin(target, pause) {
    this.text = "";
    this.pause = pause;
    this.field = target instanceof HTMLInputElement ? target : this.own;
    this.before = this.field ? this.field.value : "";
  }

  end(fast) {
    const scan = this.text;
    this.text = "";
    if (!fast || scan.length < SHORTEST) return false;
    if (this.own && this.field === this.own) {
      if (this.pause > LEFT_OVER_MS) this.own.value = scan;
      return false;
    }
    if (this.field) this.field.value = this.before;
    this.taken(scan);
    return true;
  }
}

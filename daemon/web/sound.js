// One rhythm per verdict, so that a head turned away hears which it was.  Never the only sign.

const PATTERNS = {  // [tone ms, pause ms, Hz]
  pass: [[100, 60, 660], [260, 0, 880]],
  fail: [[350, 150, 330], [350, 150, 330], [350, 0, 330]],
  undecided: [[120, 80, 520], [120, 300, 520], [120, 80, 520], [120, 0, 520]],
  void: [[300, 120, 440], [90, 90, 440], [90, 90, 440], [90, 0, 440]],
  attention: [[70, 70, 520], [70, 70, 520], [70, 70, 520], [70, 0, 520]],
  alarm: [[500, 250, 700]],
};

let context = null;

export function isOn() {
  return localStorage.getItem("sound") !== "off";
}

export function setOn(on) {
  localStorage.setItem("sound", on ? "on" : "off");
}

export function play(name) {
  const pattern = PATTERNS[name];
  if (!pattern || !isOn() || !navigator.userActivation?.hasBeenActive) return;
  context ??= new AudioContext();
  let at = context.currentTime;
  for (const [tone, pause, hertz] of pattern) {
    const oscillator = new OscillatorNode(context, { frequency: hertz });
    oscillator.connect(context.destination);
    oscillator.start(at);
    oscillator.stop(at + tone / 1000);
    at += (tone + pause) / 1000;
  }
}

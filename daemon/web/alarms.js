// Unanswered alarms: a thin bar on top of every page, until somebody takes them over.

const every_ms = 20000;
const bar = document.createElement("a");
bar.className = "alarm-bar";
bar.href = "/alarms";
bar.hidden = true;
document.body.prepend(bar);

async function look() {
  try {
    const answer = await fetch("/api/v1/alarms");
    if (!answer.ok) return;
    const open = (await answer.json()).alarms.filter((alarm) => alarm.state === "open");
    bar.hidden = open.length === 0;
    if (open.length === 0) return;
    const more = open.length > 1 ? ` And ${open.length - 1} more.` : "";
    const where = open[0].bench ? `Alarm, bench ${open[0].bench}` : "Alarm";
    bar.textContent = `${where}: ${open[0].text}${more} Nobody has taken it over.`;
  } catch {
    // The page's own timer says when the service is not heard.
  }
}

look();
setInterval(() => { if (!document.hidden) look(); }, every_ms);
document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });

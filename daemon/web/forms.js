// Forms that keep a fact: sends the fields as JSON, says the service's own words when refused.  A
// form that leads nowhere says in its place what was kept.

// A file goes as its text; the end of its name says which form it has.  Bytes that are not UTF-8
// are refused here, else they would be replaced in silence.
async function withFile(form, fields) {
  const input = form.querySelector("input[type=file]");
  if (!input) return fields;
  const [file] = input.files;
  const { [input.name]: _, ...others } = fields;
  const text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(await file.arrayBuffer());
  return { ...others, text, form: file.name.toLowerCase().endsWith(".csv") ? "csv" : "json_lines" };
}

function say(form, sentence, faults = []) {
  form.querySelector(".answer").textContent = sentence;
  form.querySelector(".faults")?.replaceChildren(
    ...faults.map((fault) => Object.assign(document.createElement("li"), { textContent: fault })),
  );
}

async function send(form) {
  let fields;
  try {
    fields = await withFile(form, Object.fromEntries(new FormData(form).entries()));
  } catch {
    return say(form, "The file could not be read as UTF-8 text. Nothing was sent. Save it as UTF-8.");
  }
  try {
    const answer = await fetch(form.dataset.address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(fields),
    });
    if (answer.ok && form.dataset.then) return location.assign(form.dataset.then);
    const words = await answer.json();
    return say(form, answer.ok ? words.accepted : `${words.error} ${words.code}`, words.faults);
  } catch {
    return say(form, "The service did not answer. Nothing is known to be kept. N-101");
  }
}

for (const form of document.querySelectorAll("form.command"))
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(form);
  });

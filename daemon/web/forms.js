// Forms that keep a fact: sends the fields as JSON, says the service's own words when refused.

async function send(form) {
  const said = form.querySelector(".answer");
  const fields = Object.fromEntries(new FormData(form).entries());
  try {
    const answer = await fetch(form.dataset.address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(fields),
    });
    if (answer.ok) return location.assign(form.dataset.then);
    const words = await answer.json();
    said.textContent = `${words.error} ${words.code}`;
  } catch {
    said.textContent = "The service did not answer. Nothing is known to be kept. N-101";
  }
  return undefined;
}

for (const form of document.querySelectorAll("form.command"))
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(form);
  });

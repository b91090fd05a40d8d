// Sends one command; says the service's own words when it is refused.

export async function send(bench, command, body) {
  const address = `/api/v1/benches/${encodeURIComponent(bench)}/${command}`;
  try {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const said = await answer.json();
    return answer.ok ? "" : `${said.error} ${said.code}`;
  } catch {
    return "The service did not answer. To stop now use the stop button on the bench. N-101";
  }
}

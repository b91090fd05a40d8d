// Sends one command.  Refused: the service's own words and their code; empty words when it is not.

export const TAKEN = { words: "", code: "" };

export async function send(bench, command, body) {
  const address = `/api/v1/benches/${encodeURIComponent(bench)}/${command}`;
  try {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const said = await answer.json();
    return answer.ok ? TAKEN : { words: said.error, code: said.code };
  } catch {
    return { words: "The service did not answer. To stop now use the stop button on the bench.",
             code: "N-101" };
  }
}

// Builds a drawing that the service described: ["tag", {attributes}, child, "text", ...].

const NAMESPACE = "http://www.w3.org/2000/svg";

export function build(described) {
  if (typeof described === "string") return document.createTextNode(described);
  const [tag, attributes, ...children] = described;
  const element = document.createElementNS(NAMESPACE, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children.map(build));
  return element;
}

// Replaces what `place` shows, and only when it differs from what it already shows.
export function show(place, described) {
  const text = JSON.stringify(described);
  if (place.shown === text) return;
  place.shown = text;
  place.replaceChildren(build(described));
}

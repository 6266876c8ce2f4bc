// An element with attributes and children. Text is set as text: nothing that was said is ever markup.

export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children.filter((child) => child !== ""));
  return made;
}

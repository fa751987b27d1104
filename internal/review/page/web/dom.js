// Elements are only ever made here, and text only ever goes in as text: what stands
// in a log or a file name can't become markup.

const SVG = "http://www.w3.org/2000/svg";

/** el("button", {class: "big", onclick: f}, "Save") makes an element with its children. */
export function el(tag, props, ...children) {
  return dress(document.createElement(tag), props, children);
}

/** svg is el for drawings. */
export function svg(tag, props, ...children) {
  return dress(document.createElementNS(SVG, tag), props, children);
}

function dress(node, props, children) {
  for (const [name, value] of Object.entries(props || {})) set(node, name, value);
  node.append(...children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

/** set puts one property: a listener, a live property of a field, or an attribute; null takes it away. */
export function set(node, name, value) {
  if (name.startsWith("on")) node[name] = value;
  else if (name === "value" && node.tagName === "OPTION") node.setAttribute(name, value);
  else if (name === "value" || name === "checked" || name === "disabled" || name === "hidden" || name === "open") {
    if (node[name] !== value) node[name] = value;
  } else if (value === null || value === undefined || value === false) node.removeAttribute(name);
  else node.setAttribute(name, value === true ? "" : String(value));
}

/** fill replaces what stands in a node. */
export function fill(node, ...children) {
  node.replaceChildren(...children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

/** text changes a node's text only where it differs, so that nothing is read out twice. */
export function text(node, value) {
  if (node.textContent !== value) node.textContent = value;
}

/**
 * keyed keeps a container's children in step with items: what stays is updated in
 * place, so that focus and scroll hold, in a list of hundreds too.
 */
export function keyed(container, items, keyOf, make, update) {
  const there = container.parts || (container.parts = new Map());
  const wanted = new Map();
  let before = container.firstChild;
  for (const item of items) {
    const key = keyOf(item);
    const node = there.get(key) || make(item);
    wanted.set(key, node);
    update(node, item);
    if (node === before) before = before.nextSibling;
    else container.insertBefore(node, before);
  }
  for (const [key, node] of there) if (!wanted.has(key)) node.remove();
  container.parts = wanted;
}

let count = 0;
/** id is a new id for tying a label to its field. */
export function id(stem) {
  return `${stem}-${++count}`;
}

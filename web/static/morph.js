// Makes a part of the page equal to new HTML without replacing what did not change: a button keeps its finger,
// a field its text, an opened fold stays open. Elements with data-own look after themselves.

export function morph(place, html) {
  const fresh = document.createElement("template");
  fresh.innerHTML = html;
  children(place, fresh.content);
}

function children(old, fresh) {
  const wanted = [...fresh.childNodes].filter(keeps);
  let at = [...old.childNodes];
  for (const gone of at.filter((node) => !keeps(node))) gone.remove();
  at = [...old.childNodes];
  wanted.forEach((node, i) => {
    const here = at[i];
    if (!here) old.append(node);
    else if (same(here, node)) one(here, node);
    else here.replaceWith(node);
  });
  for (const extra of at.slice(wanted.length)) extra.remove();
}

function keeps(node) {
  return node.nodeType === Node.ELEMENT_NODE || (node.nodeType === Node.TEXT_NODE && node.data.trim() !== "");
}

function same(here, node) {
  return here.nodeType === node.nodeType && here.nodeName === node.nodeName && key(here) === key(node);
}

function key(node) {
  if (node.nodeName === "FORM") return node.getAttribute("action") + [...node.elements].map((e) => e.name).join();
  return node.id || "";
}

function one(here, node) {
  if (here.nodeType === Node.TEXT_NODE) {
    if (here.data !== node.data) here.data = node.data;
    return;
  }
  if (here.hasAttribute("data-own")) return;
  for (const { name } of [...here.attributes]) {
    if (!node.hasAttribute(name) && name !== "open") here.removeAttribute(name);
  }
  for (const { name, value } of [...node.attributes]) {
    if (name !== "open" && here.getAttribute(name) !== value) here.setAttribute(name, value);
  }
  children(here, node);
}

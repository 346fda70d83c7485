// Building the page. Whatever is put in is text: nothing of a source can become
// markup.

// make builds an element: its class, its attributes, what stands in it.
function make(tag, attributes, ...inside) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name === "class") node.className = value;
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...inside.filter((x) => x !== null && x !== undefined && x !== ""));
  return node;
}

// The name of the language of drawings, which the page holds an empty one of.
const drawing = document.querySelector("svg").namespaceURI;

// svg is the same for drawings.
function svg(tag, attributes, ...inside) {
  const node = document.createElementNS(drawing, tag);
  for (const [name, value] of Object.entries(attributes || {})) node.setAttribute(name, value);
  node.append(...inside);
  return node;
}

function choice(label, id, options) {
  const select = make("select", { id }, ...options.map(([value, text]) => make("option", { value }, text)));
  return make("label", { for: id }, make("span", {}, label), select);
}

// buttons is a row of buttons of which one is pressed.
function buttons(label, list, pressed, press) {
  return make("div", { class: "choose", role: "group", "aria-label": label },
    ...list.map(([value, ...text]) => {
      const b = make("button", { type: "button", "aria-pressed": String(value === pressed), "data-value": value }, ...text);
      b.addEventListener("click", () => press(value));
      return b;
    }));
}

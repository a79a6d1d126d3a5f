/**
 * Makes an element. Styles are never set by text, so that a page may forbid
 * that by its content security policy.
 * @param {string} tag
 * @param {Object} [properties] of the element
 * @param {...(Node|string)} children
 */
export function build(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

/** Sets ARIA attributes: aria(element, { label: "Map" }). */
export function aria(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name === "role" ? name : `aria-${name}`, value);
  return element;
}

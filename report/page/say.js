// The English text is the key of its translation. A page in another language has
// an element with the translations.
const translations = JSON.parse(document.getElementById("texts")?.textContent ?? "{}");

/**
 * A text in the language of the page. In it %s stands for the next of the parts,
 * and %[2]s for the second one.
 * @param {string} english  a literal in double quotes, so that it gets into the list of texts
 */
export function say(english, ...parts) {
  let last = 0;
  return (translations[english] ?? english).replace(/%(?:\[(\d+)\])?s/g, (_, number) => parts[(last = number ? Number(number) : last + 1) - 1]);
}

/** Measures, signs of figures and form of dates, for all jobs. */
import { get, post } from "./api.js";
import { h, setThousands } from "./html.js";
import { fields, Flags } from "./form.js";

const locales = [
  ["en-GB", "Britain"], ["en-AU", "Australia"], ["en-CA", "Canada, English"], ["en-IE", "Ireland"], ["en-NZ", "New Zealand"], ["en-US", "United States"],
  ["en-ZA", "South Africa"], ["cs", "Czech"], ["da", "Danish"], ["de", "German"], ["de-AT", "German, Austria"], ["de-CH", "German, Switzerland"],
  ["es", "Spanish"], ["fi", "Finnish"], ["fr", "French"], ["fr-CA", "French, Canada"], ["fr-CH", "French, Switzerland"], ["it", "Italian"], ["nb", "Norwegian"],
  ["nl", "Dutch"], ["pl", "Polish"], ["pt", "Portuguese"], ["pt-BR", "Portuguese, Brazil"], ["sv", "Swedish"],
];
const choices = [
  { flag: "units", label: "Measures", options: [["metric", "metric"], ["imperial", "imperial"], ["both", "metric, with imperial in brackets"]] },
  { flag: "locale", label: "Figures and dates as in", hint: "a tag such as en-GB, en-US or de; the text stays English", suggested: locales },
];

let now = {};

function use(figures) {
  now = figures;
  setThousands(figures.thousands);
}

/** Takes up what is kept, or what the browser is set to where nothing is. */
export async function startFigures() {
  use(await get("api/figures"));
  if (now.locale) return;
  try {
    use(await post("api/figures", { units: now.units, locale: navigator.language }));
  } catch { /* it is none that the program knows: figures stay as they are */ }
}

/** @param {() => Promise<void>} kept  shows the screen anew */
export function figuresForm(kept) {
  const typed = new Flags({ units: [now.units], locale: [now.locale] });
  const fault = h("p", { class: "fault", role: "alert" });
  const keep = async () => {
    try {
      use(await post("api/figures", { units: typed.one("units"), locale: typed.one("locale") }));
      await kept();
    } catch (error) {
      fault.textContent = error.message;
    }
  };
  return h("details", {}, h("summary", {}, "Measures, figures and dates"),
    h("p", {}, `On the page and in all that is written for people, as in ${now.sample}.`),
    fields(typed, choices, () => {}), fault,
    h("p", {}, h("button", { type: "button", onclick: keep }, "Use these for all jobs")));
}

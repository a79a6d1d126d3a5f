// Lists can be put in another order by their headings, and saved as CSV. The
// rows carry the values behind what they show, and the headings the names of
// these values. Without this script the tables are as they are.
import { say } from "./say.js";

// values are what lies behind a cell, one for each name of its heading.
const values = (cell, heading) => {
  const text = cell.dataset.value ?? cell.textContent.trim()
  return heading.dataset.name.includes(' ') ? text.split('\t') : [text]
}

// compare puts numbers by size and other text by the alphabet.
const compare = (a, b) => {
  const difference = Number(a) - Number(b)
  return Number.isFinite(difference) ? difference : a.localeCompare(b, document.documentElement.lang, { numeric: true })
}

// sorted leaves what is not known, which is blank, at the end either way.
const sorted = (rows, heading, sign) => {
  const of = (row) => values(row.cells[heading.cellIndex], heading)[0]
  return [...rows].sort((a, b) => (of(a) === '') - (of(b) === '') || sign * compare(of(a), of(b)))
}

// The first press on a heading sorts upwards, the second downwards, and the
// third brings the first order back.
const next = { none: 'ascending', ascending: 'descending', descending: 'none' }

const makeSortable = (table) => {
  const body = table.tBodies[0]
  const rows = [...body.rows]
  const headings = [...table.tHead.rows[0].cells]
  for (const heading of headings) {
    const button = document.createElement('button')
    button.type = 'button'
    button.append(...heading.childNodes)
    heading.append(button)
    button.addEventListener('click', () => {
      const order = next[heading.getAttribute('aria-sort') ?? 'none']
      headings.forEach((other) => other.removeAttribute('aria-sort'))
      if (order === 'none') {
        body.append(...rows)
        return
      }
      heading.setAttribute('aria-sort', order)
      body.append(...sorted(rows, heading, order === 'ascending' ? 1 : -1))
    })
  }
}

const quoted = (field) => (/[",\r\n]|^ /.test(field) ? `"${field.replaceAll('"', '""')}"` : field)

// csv is the table as RFC 4180 has it, in the order in which it stands, with the
// byte order mark that spreadsheets tell UTF-8 by.
const csv = (table) => {
  const headings = [...table.tHead.rows[0].cells]
  const names = headings.flatMap((heading) => heading.dataset.name.split(' '))
  const fields = (row) => headings.flatMap((heading, i) => values(row.cells[i], heading))
  return '\ufeff' + [names, ...[...table.tBodies[0].rows].map(fields)].map((line) => line.map(quoted).join(',') + '\r\n').join('')
}

const makeSavable = (table) => {
  const place = table.closest('.scroll') ?? table
  const about = document.getElementById(place.getAttribute('aria-labelledby'))
  const button = document.createElement('button')
  button.type = 'button'
  button.className = 'save'
  button.textContent = say("Save as CSV")
  button.setAttribute('aria-label', say("Save as CSV: %s", about?.textContent ?? table.dataset.name))
  button.addEventListener('click', () => {
    const link = document.createElement('a')
    link.href = 'data:text/csv;charset=utf-8,' + encodeURIComponent(csv(table))
    link.download = `${document.title}-${table.dataset.name}.csv`
    link.click()
  })
  place.after(button)
}

for (const table of document.querySelectorAll('table[data-name]')) {
  makeSavable(table)
  if (table.classList.contains('list') && table.tBodies[0].rows.length > 1) {
    makeSortable(table)
  }
}

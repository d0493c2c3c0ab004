/** The text twin of a picture: the same numbers as a plain table, also what is printed. */

import { type TemplateResult, html } from "lit";

export interface Twin {
  readonly caption: string;
  readonly columns: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

export function twinTable({ caption, columns, rows }: Twin): TemplateResult {
  return html`<div class="twin" tabindex="0" role="group" aria-label=${caption}>
    <table>
      <caption>${caption}</caption>
      <thead><tr>${columns.map((column) => html`<th scope="col">${column}</th>`)}</tr></thead>
      <tbody>${rows.map(([first, ...rest]) => html`<tr><th scope="row">${first}</th>${rest.map((cell) => html`<td>${cell}</td>`)}</tr>`)}</tbody>
    </table>
  </div>`;
}

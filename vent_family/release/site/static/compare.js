// Puts the figures of two or three vents side by side; which ones stands in the address after #.
"use strict";
(() => {
  const { labels, parts } = self.ventFigures;
  const form = document.getElementById("choice");
  const told = document.getElementById("told");
  const across = document.querySelector(".across");
  const table = across.querySelector("table");
  const selects = [...form.querySelectorAll("select")];
  const numbers = Object.keys(parts);
  const natural = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  numbers.sort(natural.compare);
  for (const select of selects) {
    select.append(...numbers.map((number) => new Option(`${number}: ${parts[number].words}`, number)));
  }

  const element = (name, text, given = {}) => {
    const made = Object.assign(document.createElement(name), given);
    if (text !== null) made.textContent = text;
    return made;
  };
  const headOf = (number) => {
    const part = parts[number];
    const cell = element("th", null, { scope: "col" });
    if (part.picture) {
      cell.append(element("img", null, { src: part.picture, alt: "", width: 160, height: 140 }));
    }
    cell.append(element("a", number, { href: part.page }));
    cell.append(element("span", part.words, { className: "words" }));
    if (part.standing) {
      cell.append(element("strong", "Do not fit", { className: "stop-word" }));
      cell.append(element("span", part.standing, { className: "stop-line" }));
    }
    return cell;
  };
  const draw = () => {
    const chosen = [...new Set(selects.map((select) => select.value).filter(Boolean))];
    for (const select of selects) {
      for (const option of select.options) {
        option.disabled = option.value !== "" && option.value !== select.value &&
          chosen.includes(option.value);
      }
    }
    for (const old of [...table.children].slice(1)) old.remove();
    across.hidden = chosen.length === 0;
    const head = element("tr", null);
    head.append(element("td", null), ...chosen.map(headOf));
    const top = element("thead", null);
    top.append(head);
    table.append(top);
    let group = "";
    let body = null;
    let differing = 0;
    labels.forEach(([heading, label], place) => {
      const texts = chosen.map((number) => parts[number].texts[place]);
      if (texts.every((text) => text === null)) return;
      const differs = new Set(texts).size > 1;
      differing += differs;
      if (form.elements.differ.checked && !differs) return;
      if (heading !== group) {
        group = heading;
        body = element("tbody", null);
        const row = element("tr", null, { className: "group" });
        row.append(element("th", heading, { scope: "rowgroup", colSpan: chosen.length + 1 }));
        body.append(row);
        table.append(body);
      }
      const row = element("tr", null, { className: differs ? "differs" : "" });
      row.append(element("th", label, { scope: "row" }));
      row.append(...texts.map((text) => element("td", text ?? "–")));
      body.append(row);
    });
    told.textContent =
      chosen.length > 1
        ? `${chosen.join(", ")}: ${differing} figures differ, told in bold.`
        : "Choose two or three vents.";
  };
  const write = () => {
    const chosen = selects.map((select) => select.value).filter(Boolean);
    const state = new URLSearchParams({ parts: chosen.join(" ") });
    if (form.elements.differ.checked) state.set("differ", "1");
    history.replaceState(null, "", `#${state}`);
  };
  const read = () => {
    const state = new URLSearchParams(location.hash.slice(1));
    const asked = (state.get("parts") ?? "").split(" ").filter((number) => number in parts);
    selects.forEach((select, place) => (select.value = asked[place] ?? ""));
    form.elements.differ.checked = state.get("differ") === "1";
    draw();
  };
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", () => {
    draw();
    write();
  });
  addEventListener("hashchange", read);
  form.hidden = false;
  read();
})();

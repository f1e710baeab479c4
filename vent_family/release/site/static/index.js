// Filters, sorts and chooses in the table of all vents; its state stands in the address after #.
"use strict";
(() => {
  const form = document.getElementById("filters");
  const table = document.querySelector("table.parts");
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const count = document.getElementById("count");
  const none = document.getElementById("none");
  const chosen = document.getElementById("chosen");
  const MOST = 3;
  const natural = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  const number = (text) => (text === "" ? NaN : Number(text));

  const facts = new Map(
    rows.map((row, place) => [
      row,
      {
        place,
        words: plain(row.dataset.words),
        waters: row.dataset.waters
          .split(";")
          .filter(Boolean)
          .map((each) => each.split("=")),
        width: number(row.dataset.width),
        height: number(row.dataset.height),
        air: number(row.querySelector(".flow_in").dataset.v),
        area: number(row.querySelector(".free_area").dataset.v),
      },
    ]),
  );
  const ticks = new Map(
    rows.map((row) => [row.dataset.part, row.querySelector("input[name=compare]")]),
  );
  const state = { sort: "", down: "" };
  const NAMES = ["q", "family", "water", "predicted", "air", "area", "width", "height"];

  const allowed = { "": null, holds: ["holds"], marginal: ["holds", "marginal"] };
  const passes = (row, asked) => {
    const fact = facts.get(row);
    if (asked.words.some((word) => !fact.words.includes(word))) return false;
    if (asked.family && row.dataset.family !== asked.family) return false;
    let waters = fact.waters;
    if (asked.water) waters = waters.filter(([name]) => name === asked.water);
    const outcomes = allowed[asked.predicted];
    if ((asked.water || outcomes) && !waters.length) return false;
    if (outcomes && !waters.every(([, outcome]) => outcomes.includes(outcome))) return false;
    if (asked.air && !(fact.air >= Number(asked.air))) return false;
    if (asked.area && !(fact.area >= Number(asked.area))) return false;
    if (asked.width && !(fact.width <= Number(asked.width))) return false;
    return !(asked.height && !(fact.height <= Number(asked.height)));
  };
  const compared = (a, b) => {
    if (!state.sort) return facts.get(a).place - facts.get(b).place;
    const way = state.down ? -1 : 1;
    if (state.sort === "part") return way * natural.compare(a.dataset.part, b.dataset.part);
    const value = (row) => number(row.querySelector(`td.${state.sort}`).dataset.v);
    const [left, right] = [value(a), value(b)];
    // What has no figure stands last, whichever way.
    if (Number.isNaN(left) || Number.isNaN(right)) {
      return Number.isNaN(left) - Number.isNaN(right) || facts.get(a).place - facts.get(b).place;
    }
    return way * (left - right) || natural.compare(a.dataset.part, b.dataset.part);
  };

  const picked = () =>
    [...ticks].filter(([, tick]) => tick.checked).map(([part]) => part);
  const choose = () => {
    const parts = picked();
    for (const tick of ticks.values()) tick.disabled = parts.length >= MOST && !tick.checked;
    chosen.hidden = !parts.length;
    const link = chosen.querySelector("a");
    link.href = `compare.html#${new URLSearchParams({ parts: parts.join(" ") })}`;
    link.textContent =
      parts.length < 2 ? `Compare ${parts[0] ?? ""} with …` : `Compare ${parts.join(", ")}`;
  };
  const write = () => {
    const told = new URLSearchParams();
    for (const name of NAMES) {
      const { value } = form.elements[name];
      if (value) told.set(name, value);
    }
    if (state.sort) told.set("sort", state.sort);
    if (state.down) told.set("down", "1");
    if (picked().length) told.set("compare", picked().join(" "));
    history.replaceState(null, "", `#${told}`);
  };
  let ordered = "";
  const apply = () => {
    const asked = Object.fromEntries(NAMES.map((name) => [name, form.elements[name].value]));
    asked.words = plain(asked.q).split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      row.hidden = !passes(row, asked);
      shown += !row.hidden;
    }
    const order = `${state.sort} ${state.down}`;
    if (order !== ordered) {
      ordered = order;
      body.append(...[...rows].sort(compared));
      for (const head of table.tHead.rows[0].cells) {
        if (!head.dataset.sort) continue;
        const here = head.dataset.sort === state.sort;
        if (here) head.setAttribute("aria-sort", state.down ? "descending" : "ascending");
        else head.removeAttribute("aria-sort");
      }
    }
    const all = rows.length;
    count.textContent =
      shown === all ? `${all} vents` : `${shown} of ${all} vents`;
    none.hidden = shown > 0;
    table.hidden = shown === 0;
  };
  const read = () => {
    const told = new URLSearchParams(location.hash.slice(1));
    for (const name of NAMES) form.elements[name].value = told.get(name) ?? "";
    const known = [...table.tHead.querySelectorAll("[data-sort]")].map((h) => h.dataset.sort);
    state.sort = known.includes(told.get("sort")) ? told.get("sort") : "";
    state.down = state.sort && told.get("down") ? "1" : "";
    const parts = (told.get("compare") ?? "").split(" ").slice(0, MOST);
    for (const [part, tick] of ticks) tick.checked = parts.includes(part);
    choose();
    apply();
  };

  for (const head of table.tHead.querySelectorAll("[data-sort]")) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    button.addEventListener("click", () => {
      const same = state.sort === head.dataset.sort;
      state.down = same && !state.down ? "1" : "";
      state.sort = head.dataset.sort;
      apply();
      write();
    });
    head.replaceChildren(button);
  }
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", () => {
    apply();
    write();
  });
  form.addEventListener("reset", () => {
    // The fields are emptied after this event.
    setTimeout(() => {
      apply();
      write();
    });
  });
  body.addEventListener("change", () => {
    choose();
    write();
  });
  chosen.querySelector("button").addEventListener("click", () => {
    for (const tick of ticks.values()) tick.checked = false;
    choose();
    write();
    form.elements.q.focus();
  });
  addEventListener("hashchange", read);
  form.hidden = false;
  document.documentElement.classList.add("scripts");
  read();
})();

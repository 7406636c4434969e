"use strict";
(() => {
  const section = document.getElementById("now");
  const list = section.querySelector("ul");
  const show = () => {
    let today;
    try {
      const parts = new Intl.DateTimeFormat("en-US", {
        timeZone: section.dataset.zone, year: "numeric", month: "2-digit", day: "2-digit",
      }).formatToParts(new Date());
      const part = (name) => parts.find((p) => p.type === name).value;
      today = `${part("year")}-${part("month")}-${part("day")}`;
    } catch {
      return;
    }
    const is_on = (row) => row.dataset.from <= today && today <= row.dataset.to;
    const comes = (row) => row.dataset.from > today;
    const days = [...document.querySelectorAll("#days li[data-from]")];
    // What follows AI stands group by group: the order is made here.
    const after = [...document.querySelectorAll("li[data-told]")];
    after.sort((a, b) => a.dataset.from.localeCompare(b.dataset.from));
    const words = (text) => {
      const li = document.createElement("li");
      li.textContent = text;
      return li;
    };
    const day = (word, row) => {
      const li = document.createElement("li");
      const link = row.querySelector("a").cloneNode(true);
      link.prepend(`${word}: `);
      li.append(link);
      return li;
    };
    const follows = (word, row) => {
      const li = document.createElement("li");
      const link = document.createElement("a");
      link.href = `#${row.id}`;
      link.textContent = `${word}: ${row.dataset.told}`;
      li.className = "after-ai";
      li.append(link);
      return li;
    };
    // Of very many groups the first few, and where the others stand.
    const most = 8;
    const goes_on = after.filter(is_on);
    const on = [
      ...days.filter(is_on).map((d) => day("Today", d)),
      ...goes_on.slice(0, most).map((f) => follows("Today", f)),
    ];
    if (goes_on.length > most) {
      const rest = { id: "after", dataset: { told: `${goes_on.length - most} more after AI` } };
      on.push(follows("Today", rest));
    }
    const next = [
      ...days.filter(comes).slice(0, 1).map((d) => day("Next", d)),
      ...after.filter(comes).slice(0, 1).map((f) => follows("Next after AI", f)),
    ];
    list.replaceChildren(
      ...(on.length ? on : [words("Today: nothing is planned.")]),
      ...(next.length ? next : [words("Nothing comes after today.")]),
    );
    section.hidden = false;
  };
  show();
  document.addEventListener("visibilitychange", () => document.hidden || show());
})();

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
    const days = [...document.querySelectorAll("#days li[data-from]")];
    const on = days.filter((d) => d.dataset.from <= today && today <= d.dataset.to);
    const next = days.find((d) => d.dataset.from > today);
    const line = (word, day) => {
      const li = document.createElement("li");
      if (day) {
        const link = day.querySelector("a").cloneNode(true);
        link.prepend(`${word}: `);
        li.append(link);
      } else {
        li.textContent = word;
      }
      return li;
    };
    list.replaceChildren(
      ...(on.length ? on.map((d) => line("Today", d)) : [line("Today: nothing is planned.")]),
      next ? line("Next", next) : line("Nothing comes after today."),
    );
    section.hidden = false;
  };
  show();
  document.addEventListener("visibilitychange", () => document.hidden || show());
})();

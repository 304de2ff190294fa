"use strict";
(() => {
  const filter = document.getElementById("filter");
  if (!filter) return;
  const findings = [...document.querySelectorAll("li[data-severity]")];
  const texts = findings.map((finding) => finding.textContent.toLowerCase());
  const groups = [...document.querySelectorAll("section.group")];
  const boxes = [...filter.querySelectorAll("input[name=severity]")];
  const hold = filter.querySelector("select");
  const words = filter.querySelector("input[type=search]");
  const count = document.getElementById("filter-count");
  const none = document.getElementById("filter-none");

  const apply = () => {
    const severities = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    findings.forEach((finding, at) => {
      const { severity, hold: holds } = finding.dataset;
      const fits =
        severities.has(severity) &&
        (!hold.value || hold.value === holds) &&
        wanted.every((word) => texts[at].includes(word));
      finding.classList.toggle("left-out", !fits);
      shown += fits;
    });
    for (const group of groups) {
      group.classList.toggle("left-out", !group.querySelector("li[data-severity]:not(.left-out)"));
    }
    none.hidden = shown > 0;
    const all = findings.length;
    count.textContent = `${shown} of ${all} ${all === 1 ? "finding" : "findings"} shown`;
  };

  const showAll = () => {
    for (const box of boxes) box.checked = true;
    hold.value = "";
    words.value = "";
    apply();
  };

  const showTarget = () => {
    const target = document.getElementById(location.hash.slice(1));
    if (!target || !target.classList.contains("left-out")) return;
    showAll();
    target.scrollIntoView();
    target.focus();
  };

  filter.addEventListener("input", apply);
  filter.querySelector("button").addEventListener("click", showAll);
  window.addEventListener("hashchange", showTarget);
  filter.hidden = false;
  apply();
})();

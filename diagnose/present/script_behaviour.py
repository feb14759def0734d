"""What the page of a phone script does where scripts are on: back, notes, summary, typed numbers, what a reload keeps.

Plain text of a program for the browser; it loads nothing and sends nothing.
"""

from __future__ import annotations

__all__ = ["BEHAVIOUR"]

BEHAVIOUR = """
(function () {
  "use strict";
  var d = document, key = "script " + d.title, path = [], $ = function (i) { return d.getElementById(i); };
  var entry = $("entry");
  d.documentElement.className = "js";
  function keep() {
    try { localStorage.setItem(key, JSON.stringify({ path: path, notes: $("notes").value })); } catch (e) { return; }
  }
  function load() {
    try {
      var s = JSON.parse(localStorage.getItem(key) || "{}");
      path = Array.isArray(s.path) ? s.path.filter(function (p) { return $(p.at) && $(p.go); }) : [];
      $("notes").value = s.notes || "";
    } catch (e) { path = []; }
  }
  function here() { return path.length ? path[path.length - 1].go : "start"; }
  function text(section) {
    var h = section.querySelector("h2"), n = h.querySelector(".number");
    return h.textContent.replace(n ? n.textContent : "", "").trim();
  }
  function summary() {
    var lines = [d.title];
    path.forEach(function (p) { if (p.at !== "start") { lines.push(text($(p.at)) + " -> " + p.said); } });
    var s = $(here());
    if (s.classList.contains("end")) {
      lines.push(text(s) + ". " + s.querySelector(".verdict").textContent);
      s.querySelectorAll("ul li").forEach(function (li) { lines.push("- " + li.textContent); });
    }
    if ($("notes").value) { lines.push("Notes: " + $("notes").value); }
    $("summary").value = lines.join("\\n");
  }
  function show(focus) {
    var s = $(here()), head = s.querySelector("h2"), more = Number(s.getAttribute("data-more"));
    if ((location.hash.slice(1) || "start") !== here()) { location.hash = here(); }
    entry.hidden = !s.hasAttribute("data-unit");
    if (!entry.hidden) {
      s.insertBefore(entry, s.querySelector(".answers"));
      entry.querySelector("span").textContent = s.getAttribute("data-unit");
      entry.querySelector("input").value = entry.querySelector(".back").textContent = "";
    }
    $("more").textContent = more ? "about " + more + " more question" + (more === 1 ? "" : "s") : "";
    head.tabIndex = -1;
    $("back").disabled = !path.length;
    if (focus) { head.focus(); window.scrollTo(0, 0); }
    summary();
    keep();
  }
  function go(section, a, said) {
    path.push({ at: section.id, go: a.hash.slice(1), said: said || a.textContent });
    show(true);
  }
  function marks(t) {
    return t.replace(/-/g, "minus ").replace(/[.,]/g, " point ").replace(/([0-9])/g, "$1 ").replace(/ +/g, " ").trim();
  }
  function number(t) {
    t = t.trim().replace(",", ".");
    return /^[-+]?[0-9]*[.]?[0-9]+$/.test(t) ? parseFloat(t) : NaN;
  }
  function band(section, value) {
    return Array.prototype.find.call(section.querySelectorAll(".band a"), function (a) {
      var l = a.getAttribute("data-low"), h = a.getAttribute("data-high");
      return (l === null || value >= parseFloat(l)) && (h === null || value < parseFloat(h));
    });
  }
  function typed(section) {
    var input = section.querySelector("input"), back = section.querySelector(".back"), value = number(input.value);
    back.textContent = "";
    if (isNaN(value)) { back.textContent = "Type the number as it is shown, for example 9.87"; return; }
    var most = section.getAttribute("data-unit") === "A" ? 1000 : 100;
    if (Math.abs(value) >= most) { back.textContent = "Is there a point in it? Type it again."; return; }
    var yes = d.createElement("button");
    yes.type = "button";
    yes.textContent = "Yes, that is it";
    yes.addEventListener("click", function () { go(section, band(section, value), input.value + " (read back)"); });
    back.append("Read back: " + marks(input.value) + ". Right? ", yes);
    yes.focus();
  }
  d.addEventListener("click", function (e) {
    var t = e.target, section = t.closest ? t.closest("section") : null;
    if (!section) { return; }
    if (t.matches(".answers a")) { e.preventDefault(); go(section, t); }
    if (t.matches(".say")) { typed(section); }
    if (t.matches(".sign")) {
      var i = section.querySelector("input");
      i.value = i.value.charAt(0) === "-" ? i.value.slice(1) : "-" + i.value;
      i.focus();
    }
  });
  d.addEventListener("keydown", function (e) {
    if (e.key !== "Enter" || !e.target.matches("section input")) { return; }
    e.preventDefault();
    typed(e.target.closest("section"));
  });
  $("back").addEventListener("click", function () { path.pop(); show(true); });
  $("restart").addEventListener("click", function () { path = []; $("notes").value = ""; show(true); });
  $("notes").addEventListener("input", function () { summary(); keep(); });
  $("copy").addEventListener("click", function () {
    $("summary").select();
    try { d.execCommand("copy"); } catch (e) { return; }
  });
  window.addEventListener("hashchange", function () {
    var at = location.hash.slice(1) || "start";
    if (at === here()) { return; }
    var n = path.map(function (p) { return p.go; }).lastIndexOf(at);
    if (at === "start") { path = []; } else if (n >= 0) { path = path.slice(0, n + 1); }
    show(true);
  });
  load();
  show(false);
}());
"""

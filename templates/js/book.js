// Light or dark: the reader's choice over the system's, kept where the browser allows it. Nothing here is needed to read.
(function () {
  "use strict";
  var root = document.documentElement;
  var key = "handbook-light";
  function kept() {
    try { return window.localStorage.getItem(key); } catch (fault) { return null; }
  }
  function keep(value) {
    try { window.localStorage.setItem(key, value); } catch (fault) { /* private or file: the choice lasts for this page */ }
  }
  function dark() {
    if (root.dataset.light) { return root.dataset.light === "dark"; }
    return window.matchMedia("(prefers-color-scheme: dark)").matches;
  }
  var before = kept();
  if (before === "dark" || before === "light") { root.dataset.light = before; }
  document.addEventListener("DOMContentLoaded", function () {
    var strip = document.querySelector("header.strip nav ul");
    if (!strip) { return; }
    var place = document.createElement("li");
    var button = document.createElement("button");
    button.type = "button";
    function say() { button.textContent = dark() ? "Light" : "Dark"; button.setAttribute("aria-label", dark() ? "Show light pages" : "Show dark pages"); }
    button.addEventListener("click", function () {
      root.dataset.light = dark() ? "light" : "dark";
      keep(root.dataset.light);
      say();
    });
    say();
    place.appendChild(button);
    strip.appendChild(place);
  });
})();

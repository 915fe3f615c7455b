// Search over the index that was made when the handbook was published. Works from a folder, with no network.
(function () {
  "use strict";
  var made = window.handbookIndex;
  var form = document.getElementById("search");
  if (!made || !window.MiniSearch || !form) { return; }
  var engine = window.MiniSearch.loadJS(made.index, made.options);
  var box = document.getElementById("words");
  var told = document.getElementById("told");
  var results = document.getElementById("results");
  form.hidden = false;

  function show() {
    var words = box.value.trim();
    results.textContent = "";
    if (!words) { told.textContent = ""; return; }
    var found = engine.search(words, {
      boost: { title: 6, also: 5, headings: 2 },
      prefix: function (term) { return term.length > 2; },
      fuzzy: function (term) { return term.length > 3 ? 0.25 : false; },
      combineWith: "AND"
    });
    if (!found.length) { found = engine.search(words, { boost: { title: 6, also: 5, headings: 2 }, prefix: true, fuzzy: 0.25 }); }
    var asked = words.toLowerCase();
    function named(hit) { return hit.title.toLowerCase() === asked || hit.also.toLowerCase().split(" ; ").indexOf(asked) >= 0; }
    found = found.filter(named).concat(found.filter(function (hit) { return !named(hit); }));
    told.textContent = found.length === 0 ? "Nothing found. Try another word for it." : found.length === 1 ? "1 page" : found.length + " pages";
    found.slice(0, 30).forEach(function (hit) {
      var line = document.createElement("li");
      var link = document.createElement("a");
      link.href = hit.href;
      link.textContent = hit.title;
      line.appendChild(link);
      if (hit.kind) {
        var kind = document.createElement("span");
        kind.className = "kind";
        kind.textContent = " " + hit.kind;
        line.appendChild(kind);
      }
      var about = document.createElement("p");
      about.textContent = hit.about;
      line.appendChild(about);
      results.appendChild(line);
    });
  }

  box.addEventListener("input", show);
  form.addEventListener("submit", function (event) { event.preventDefault(); show(); });
  var asked = new URLSearchParams(window.location.search).get("words");
  if (asked) { box.value = asked; show(); }
  box.focus();
})();

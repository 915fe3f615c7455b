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

  // Letters to change, add, leave out or swap with their neighbour, to get from one word to the other.
  function steps(one, other) {
    var rows = [[]];
    for (var j = 0; j <= other.length; j++) { rows[0][j] = j; }
    for (var i = 1; i <= one.length; i++) {
      rows[i] = [i];
      for (j = 1; j <= other.length; j++) {
        rows[i][j] = Math.min(rows[i - 1][j] + 1, rows[i][j - 1] + 1, rows[i - 1][j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
        if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) {
          rows[i][j] = Math.min(rows[i][j], rows[i - 2][j - 2] + 1);
        }
      }
    }
    return rows[one.length][other.length];
  }

  function stands(hit) { return hit.kind !== "problem code"; } // pages of problem codes show wrong words on purpose

  // The word as it is where the handbook has it, or has one that begins so; else the nearest word that it has.
  function known(word) {
    if (word.length < 4 || engine.search(word, { prefix: true, filter: stands }).length) { return word; }
    var pages = {};
    engine.search(word, { fuzzy: 2, filter: stands }).forEach(function (hit) {
      hit.terms.forEach(function (term) { pages[term] = (pages[term] || 0) + 1; });
    });
    var near = Object.keys(pages).filter(function (term) { return steps(word, term) <= (word.length < 6 ? 1 : 2); });
    return near.sort(function (a, b) { return steps(word, a) - steps(word, b) || pages[b] - pages[a] || (a < b ? -1 : 1); })[0] || word;
  }

  // Whether a page goes by these words, the last letters of each left open.
  function named(hit, words) {
    return [hit.title].concat(hit.also.split(" ; ")).some(function (name) {
      var parts = name.toLowerCase().split(" ");
      return parts.length === words.length && words.every(function (word, i) { return parts[i].indexOf(word) === 0; });
    });
  }

  // What is typed is looked for in titles and other names first. Problem codes come after what teaches.
  function look(words, more) {
    return engine.search(words, Object.assign({
      boost: { title: 6, also: 5, headings: 2 },
      boostDocument: function (id, term, kept) { return stands(kept) ? 1 : 0.3; }
    }, more));
  }

  function show() {
    var typed = box.value.trim().toLowerCase().split(/\s+/).join(" ");
    var words = typed.split(" ").map(known).join(" ");
    results.textContent = "";
    if (!words) { told.textContent = ""; return; }
    var found = look(words, {
      prefix: function (term) { return term.length > 2; },
      fuzzy: function (term) { return term.length > 3 ? 0.25 : false; },
      combineWith: "AND"
    });
    if (!found.length) { found = look(words, { prefix: true, fuzzy: 0.25 }); }
    var parts = words.split(" ");
    found = found.filter(function (hit) { return named(hit, parts); }).concat(found.filter(function (hit) { return !named(hit, parts); }));
    told.textContent = found.length === 0 ? "Nothing found. Try another word for it." : found.length === 1 ? "1 page" : found.length + " pages";
    if (found.length && words !== typed) { told.textContent += " for “" + words + "”"; }
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

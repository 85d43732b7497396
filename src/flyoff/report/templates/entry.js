// Entries are kept at every keystroke, twice: at once where the page finds them after a reload (localStorage),
// and written through to the disk, so that a dead battery costs nothing (IndexedDB). The later of the two counts.
(function () {
  "use strict";
  var form = document.getElementById("entries");
  var state = document.getElementById("state");
  var key = "flyoff " + document.body.dataset.identity;
  var kept = { count: 0, runs: {}, values: {} };
  var disk = null;
  var refused = false;

  function each(selector, action, root) { Array.prototype.forEach.call((root || document).querySelectorAll(selector), action); }

  // Keeping

  function say() {
    var filled = Object.keys(kept.values).filter(function (name) { return /\.r\d+\./.test(name) && kept.values[name]; }).length;
    var lost = refused && !disk;
    state.parentNode.classList.toggle("lost", lost);
    state.textContent = lost
      ? "This browser refuses to keep entries: a closed page loses them. Save the flight file before you leave."
      : filled + (filled === 1 ? " entry" : " entries") + ", kept on this device";
  }

  function keep() {
    kept.count += 1;
    try {
      localStorage.setItem(key, JSON.stringify(kept));
      refused = localStorage.getItem(key) === null;
    } catch (error) { refused = true; }
    if (disk) {
      try {
        disk.transaction("entries", "readwrite", { durability: "strict" }).objectStore("entries").put(JSON.stringify(kept), key);
      } catch (error) { disk = null; }
    }
    say();
  }

  function fromPage() {
    try { return JSON.parse(localStorage.getItem(key)); } catch (error) { refused = true; return null; }
  }

  function openDisk(then) {
    var request;
    try { request = indexedDB.open("flyoff", 1); } catch (error) { then(null); return; }
    request.onupgradeneeded = function () { request.result.createObjectStore("entries"); };
    request.onerror = function () { then(null); };
    request.onsuccess = function () {
      disk = request.result;
      var read = disk.transaction("entries").objectStore("entries").get(key);
      read.onsuccess = function () { then(read.result ? JSON.parse(read.result) : null); };
      read.onerror = function () { then(null); };
    };
  }

  // Runs

  function addRun(card) {
    var runs = card.querySelectorAll(".run");
    var last = runs[runs.length - 1];
    var number = runs.length + 1;
    var copy = last.cloneNode(true);
    var old = ".r" + last.dataset.run + ".";
    copy.dataset.run = number;
    copy.querySelector("legend").textContent = last.querySelector("legend").textContent.replace(/\d+$/, number);
    each("[id], [for], [data-for]", function (element) {
      ["id", "name", "for", "data-for"].forEach(function (name) {
        if (element.hasAttribute(name)) { element.setAttribute(name, element.getAttribute(name).replace(old, ".r" + number + ".")); }
      });
    }, copy);
    each("input", function (input) { input.value = ""; input.removeAttribute("aria-invalid"); }, copy);
    each(".fault", function (fault) { fault.hidden = true; }, copy);
    last.after(copy);
    return copy;
  }

  function show(found) {
    kept = found;
    Object.keys(kept.runs).forEach(function (number) {
      var card = document.getElementById("card-" + number);
      while (card && card.querySelectorAll(".run").length < kept.runs[number]) { addRun(card); }
    });
    each("input, select", function (input) {
      if (kept.values[input.name] !== undefined) { input.value = kept.values[input.name]; }
      check(input);
    }, form);
    refresh();
  }

  // Checking

  function number(text) {
    var plain = text.trim().replace(/[−–]/, "-").replace(",", ".");
    return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? plain.replace(/^\+/, "").replace(/^(-?)\./, "$10.").replace(/\.$/, "") : null;
  }

  function seconds(text) {
    var parts = /^([01]?\d|2[0-3])[:.]?([0-5]\d)(?:[:.]?([0-5]\d))?$/.exec(text.trim());
    return parts ? parts[1] * 3600 + parts[2] * 60 + Number(parts[3] || 0) : null;
  }

  function clock(time) {
    return [time / 3600, time / 60 % 60, time % 60].map(function (part) { return String(Math.floor(part)).padStart(2, "0"); }).join(":");
  }

  function isDay(text) {
    return /^\d{4}-\d\d-\d\d$/.test(text) && !isNaN(Date.parse(text)) && new Date(text).toISOString().slice(0, 10) === text;
  }

  function fault(input) {
    var text = input.value.trim();
    if (!text || input.dataset.key === "note" || input.tagName === "SELECT") { return ""; }
    if (input.id === "date") { return isDay(text) ? "" : "a date is YYYY-MM-DD"; }
    if (input.dataset.key === "start" || input.dataset.key === "end") { return seconds(text) === null ? "a time is HH:MM:SS" : ""; }
    return number(text) === null ? "not a number" : "";
  }

  function check(input) {
    var found = fault(input);
    var place = document.getElementById(input.id + "-fault");
    if (!place) { return; }
    input.setAttribute("aria-invalid", String(Boolean(found)));
    input.setAttribute("aria-describedby", place.id);
    place.textContent = found;
    place.hidden = !found;
  }

  // Handing back

  function quoted(text) {
    return JSON.stringify(text).replace(/\\ud[89a-f][0-9a-f]{2}/gi, "\ufffd").replace(/\x7f/g, "\\u007f");
  }

  function unitOf(input) {
    var choice = form.querySelector('[data-unit-of="' + input.dataset.key + '"]');
    return choice ? choice.value : input.dataset.unit;
  }

  function following() {
    var day = document.getElementById("date").value.trim();
    if (!isDay(day)) { day = (/^date\s*=\s*["'](.*?)["']/m.exec(document.getElementById("flight").value) || [])[1] || ""; }
    return isDay(day) ? new Date(Date.parse(day) + 86400000).toISOString().slice(0, 10) : "";
  }

  function pointOf(run, card, faults) {
    var values = {}, lines = [], bad = [];
    each("input", function (input) {
      if (!input.value.trim()) { return; }
      if (fault(input)) { bad.push(input.dataset.key + " '" + input.value + "': " + fault(input)); }
      values[input.dataset.key] = input;
    }, run);
    if (!Object.keys(values).length) { return ""; }
    var name = "Card " + card.dataset.card + ", " + run.querySelector("legend").textContent;
    ["start", "end"].forEach(function (end) { if (!values[end]) { bad.push("no " + end + " time"); } });
    var times = ["start", "end"].map(function (end) { return values[end] ? seconds(values[end].value) : null; });
    var lasted = times[0] === null || times[1] === null ? null : (times[1] - times[0] + 86400) % 86400;
    if (lasted === 0) { bad.push("start and end are the same"); } else if (lasted > 12 * 3600) { bad.push("the end is before the start"); }
    lines.push("[[points]]", "kind = " + quoted(card.dataset.kind));
    ["start", "end"].forEach(function (end, i) {
      if (!values[end]) { return; }
      var day = end === "end" && times[0] > times[1] && lasted <= 12 * 3600 ? following() : "";
      lines.push(end + " = " + quoted(times[i] === null ? values[end].value : day ? day + "T" + clock(times[i]) + "Z" : clock(times[i])));
    });
    var note = [name + " (" + card.dataset.title + ")"];
    Object.keys(values).forEach(function (field) {
      var input = values[field], text = number(input.value);
      if (field === "note") { note.push(input.value.trim()); return; }
      if (field === "start" || field === "end" || /^(start|end)_altitude$/.test(field)) { return; }
      lines.push(field + " = " + quoted(text === null ? input.value : text + " " + unitOf(input)));
    });
    lines = lines.concat(climbed(values, lasted, note, bad));
    lines.push("note = " + quoted(note.join("; ")));
    if (bad.length) {
      faults.push(name + ": " + bad.join(", "));
      lines = ["# Left out until mended: " + bad.join(", ").replace(/[\x00-\x1f\x7f]/g, " ")].concat(lines).map(function (line) { return "# " + line.replace(/^# /, ""); });
    }
    return lines.join("\n") + "\n";
  }

  function climbed(values, lasted, note, bad) {
    var low = values.start_altitude && number(values.start_altitude.value);
    var high = values.end_altitude && number(values.end_altitude.value);
    if (!values.start_altitude && !values.end_altitude) { return []; }
    if (!low || !high) {
      if (!bad.length) { bad.push("an altitude at one end alone"); }
      return [];
    }
    note.push("from " + low + " ft to " + high + " ft");
    if (!lasted) { return []; }
    var rate = (high - low) / lasted * 60;
    return ["pressure_altitude = " + quoted((Number(low) + Number(high)) / 2 + " ft"), "rate_of_climb = " + quoted(rate.toFixed(0) + " ft/min")];
  }

  function flightFile(faults) {
    var day = document.getElementById("date");
    var text = document.getElementById("flight").value.replace(/\s+$/, "") + "\n";
    if (day.value.trim() && fault(day)) { faults.push("Date: " + fault(day)); }
    if (isDay(day.value.trim())) { text = text.replace(/^date\s*=.*$/m, function () { return "date = " + quoted(day.value.trim()); }); }
    each(".card[data-card]", function (card) {
      each(".run", function (run) {
        var point = pointOf(run, card, faults);
        if (point) { text += "\n" + point; }
      }, card);
    });
    return text;
  }

  function refresh() {
    var faults = [];
    document.getElementById("file").value = flightFile(faults);
    var list = document.getElementById("faults");
    list.textContent = "";
    faults.forEach(function (words) {
      var item = document.createElement("li");
      item.textContent = words + ". Left out until mended.";
      list.append(item);
    });
    each(".card[data-card]", function (card) {
      var runs = Array.prototype.slice.call(card.querySelectorAll(".run"));
      var done = runs.filter(function (run) {
        return run.querySelector('[data-key="start"]').value && run.querySelector('[data-key="end"]').value;
      }).length;
      var link = document.querySelector('nav a[href="#' + card.id + '"]');
      if (done) { link.dataset.done = done + " of " + runs.length; } else { delete link.dataset.done; }
    });
    each("[data-unit-of]", function (choice) {
      each('[data-shown="' + choice.dataset.unitOf + '"]', function (place) { place.textContent = choice.value; });
    });
    say();
  }

  // Events

  function take(input) {
    kept.values[input.name] = input.value;
    check(input);
    keep();
    refresh();
  }

  form.addEventListener("input", function (event) { if (event.target.name) { take(event.target); } });
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  form.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT") { return; }
    var inputs = Array.prototype.slice.call(form.querySelectorAll(".run input"));
    var next = inputs[inputs.indexOf(event.target) + 1];
    event.preventDefault();
    if (next) { next.focus(); }
  });
  form.addEventListener("click", function (event) {
    var button = event.target.closest("button");
    if (!button) { return; }
    if (button.classList.contains("now")) {
      var input = document.getElementById(button.dataset.for);
      input.value = new Date().toISOString().slice(11, 19);
      take(input);
    } else if (button.classList.contains("another")) {
      var card = button.closest(".card");
      var run = addRun(card);
      kept.runs[card.dataset.card] = card.querySelectorAll(".run").length;
      keep();
      run.querySelector("input").focus();
    } else if (button.id === "save") { save(); } else if (button.id === "copy") { copy(); } else if (button.id === "clear") {
      kept = { count: kept.count, runs: {}, values: {} };
      keep();
      location.reload();
    }
  });

  function save() {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([document.getElementById("file").value], { type: "application/toml" }));
    link.download = document.title.replace(/: entries$/, "").replace(/[^\w.-]+/g, "-") + ".toml";
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 60000);
  }

  function copy() {
    var file = document.getElementById("file");
    var told = function () { state.textContent = "Copied"; };
    file.focus();
    file.select();
    if (navigator.clipboard) { navigator.clipboard.writeText(file.value).then(told, function () {}); } else if (document.execCommand("copy")) { told(); }
  }

  window.addEventListener("beforeunload", function (event) { if (refused && !disk && kept.count) { event.preventDefault(); } });

  each("[data-unit-of]", function (choice) {
    var shown = form.querySelector('.run [data-shown="' + choice.dataset.unitOf + '"]');
    if (shown) { choice.value = shown.textContent; }
  });
  try {
    localStorage.setItem(key + " trial", "1");
    localStorage.removeItem(key + " trial");
  } catch (error) { refused = true; }
  var first = fromPage();
  if (first) { show(first); } else { refresh(); }
  openDisk(function (second) {
    if (second && second.count > kept.count) { show(second); }
    document.body.dataset.ready = "yes";
    say();
  });
  if (navigator.storage && navigator.storage.persist) { navigator.storage.persist().catch(function () {}); }
})();

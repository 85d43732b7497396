// Without this the page works all the same: a trace opens by its link and closes by another.
(function () {
  "use strict";
  var opener = null;
  function openTrace() {
    var id = decodeURIComponent(location.hash.slice(1));
    var target = id && document.getElementById(id);
    return target && target.classList.contains("trace") ? target : null;
  }
  function arrive() {
    var trace = openTrace();
    if (trace) {
      trace.focus({ preventScroll: true });
    } else if (opener && location.hash === "#" + encodeURI(opener.id)) {
      opener.focus({ preventScroll: true });
    }
  }
  document.addEventListener("click", function (event) {
    var link = event.target.closest("a");
    if (!link) { return; }
    if (link.matches("main a[data-figure]")) { opener = link; }
    if (link.matches(".trace .close") && opener) { link.setAttribute("href", "#" + encodeURI(opener.id)); }
  });
  document.addEventListener("keydown", function (event) {
    var trace = event.key === "Escape" ? openTrace() : null;
    if (trace) { trace.querySelector(".close").click(); }
  });
  window.addEventListener("hashchange", arrive);
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("details.fold").forEach(function (fold) { fold.open = true; });
  });
})();

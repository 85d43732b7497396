// The study's results are in the page as tables; this adds and interpolates, and knows no physics.
(function () {
  "use strict";
  var data = JSON.parse(document.getElementById("data").textContent);
  var form = document.getElementById("asked");
  var names = ["people", "bags", "trip", "wind", "reserve", "hours"].filter(function (name) {
    return form.elements[name];
  });
  var MOST_STOPS = 9;
  var LEAST_KG = 1e-6;

  function between(at, from, to) { return from + (to - from) * at; }

  // Where x lies among rising nodes: the node before, and the share of the way to the next; beyond, the ends.
  function place(nodes, x) {
    var i = 0;
    if (nodes.length < 2) { return { i: 0, at: 0 }; }
    while (i < nodes.length - 2 && x > nodes[i + 1]) { i += 1; }
    var at = (x - nodes[i]) / (nodes[i + 1] - nodes[i]);
    return { i: i, at: Math.min(Math.max(at, 0), 1) };
  }

  // Linear between values, where one of two is unknown the other.
  function mix(p, value) {
    var a = value(p.i);
    var b = p.at > 0 ? value(p.i + 1) : a;
    if (a === null || a === undefined) { return b === undefined ? null : b; }
    return b === null || b === undefined ? a : between(p.at, a, b);
  }

  function interpolate(nodes, values, x) {
    return mix(place(nodes, x), function (i) { return values[i]; });
  }

  // A half-width between head winds: it grows about as the square of the time, which its inverse root makes
  // a straight line.
  function overWinds(values, wind) {
    var known = values.every(function (half) { return half > 0; });
    if (!known) { return interpolate(data.winds, values, wind); }
    var root = interpolate(data.winds, values.map(function (half) { return 1 / Math.sqrt(half); }), wind);
    return 1 / (root * root);
  }

  // An airplane's flight at a payload: fuel, air distance and time along it.
  function wayAt(airplane, payload) {
    var p = place(airplane.payloads, payload);
    function each(read) {
      return read(airplane.ways[p.i]).map(function (_, k) {
        return mix(p, function (i) { return read(airplane.ways[i])[k]; });
      });
    }
    return {
      burn: each(function (w) { return w.burn; }),
      air: each(function (w) { return w.air; }),
      time: each(function (w) { return w.time; }),
      climb: each(function (w) { return w.climb; }),
      cruise: each(function (w) { return [w.speed, w.flow]; })
    };
  }

  function overGround(way, wind) {
    return way.air.map(function (air, k) { return air - wind * way.time[k] / 60; });
  }

  function missing(why) { return { missing: why }; }

  function fits(airplane, asked) {
    var n = asked.people - 1, b = Math.round(asked.bags / data.bags.step);
    var fuel = airplane.fits.fuel[n][b];
    if (fuel === null) { return missing(airplane.fits.reasons[airplane.fits.why[n][b]]); }
    var payload = airplane.people[asked.people] + asked.bags * data.bags.kg;
    if (payload + asked.reserve * airplane.reserve_kg > airplane.landing + LEAST_KG) {
      return missing("people, bags and reserve are more than the landing weight allows");
    }
    return { value: fuel, half: airplane.fits.half[n][b], grain: airplane.grain, payload: payload };
  }

  function rangeOf(airplane, way, fuel, asked) {
    var speed = way.cruise[0] - asked.wind;
    if (speed <= 0) { return missing("the head wind is not below the true airspeed"); }
    if (way.climb[0] - asked.wind * way.climb[1] / 60 < 0) {
      return missing("the head wind is not below the airspeed in the climb");
    }
    var left = fuel.value - way.cruise[1] * (asked.reserve + 60 * airplane.alternate / speed);
    if (left < way.burn[0]) { return missing("the fuel does not last to cruise with the reserve"); }
    return {
      value: interpolate(way.burn, overGround(way, asked.wind), left),
      half: rangeHalf(airplane, asked)
    };
  }

  function rangeHalf(airplane, asked) {
    var n = asked.people - 1, bands = airplane.bands;
    var step = place(bands.steps[n], asked.bags / data.bags.step);
    return mix(step, function (i) {
      var grid = bands.range[n][i];
      return grid && mix(place(data.reserves, asked.reserve), function (r) {
        return overWinds(grid[r], asked.wind);
      });
    });
  }

  // The trip in as few legs of equal length as the range covers.
  function tripOf(airplane, way, range, asked, payload) {
    var stops = Math.ceil(asked.trip / range.value) - 1;
    if (stops > MOST_STOPS) { return missing("more than " + MOST_STOPS + " stops"); }
    var legs = stops + 1, leg = asked.trip / legs, ground = overGround(way, asked.wind);
    if (leg < ground[0]) { return missing("the leg is shorter than climb and descent"); }
    function half(values) {
      return legs * mix(place(airplane.bands.payloads, payload), function (i) {
        return overWinds(values[i].map(function (legs) { return interpolate(data.legs, legs, leg); }), asked.wind);
      });
    }
    return {
      stops: stops,
      near: [legs, legs - 1].some(function (n) {
        return n > 0 && Math.abs(asked.trip / n - range.value) < range.half;
      }),
      time: { value: legs * interpolate(ground, way.time, leg), half: half(airplane.bands.time) },
      used: { value: legs * interpolate(ground, way.burn, leg), half: half(airplane.bands.fuel) }
    };
  }

  function costOf(airplane, asked) {
    var cost = airplane.cost;
    if (!cost) { return null; }
    if (cost.missing) { return { hour: missing(cost.missing), year: missing(cost.missing) }; }
    // linear in the hours: by its ends
    var first = data.hours[0], last = data.hours.length - 1;
    var at = (asked.hours - first) / (data.hours[last] - first);
    var value = between(at, cost.year[0], cost.year[last]);
    var half = interpolate(data.hours, cost.half, asked.hours);
    return {
      year: { value: value, half: half },
      hour: { value: value / asked.hours, half: half / asked.hours }
    };
  }

  function answer(airplane, asked) {
    var fuel = fits(airplane, asked);
    var found = { fuel: fuel, cost: costOf(airplane, asked) };
    var why = fuel.missing || airplane.missing;
    if (!why) {
      var way = wayAt(airplane, fuel.payload);
      found.range = rangeOf(airplane, way, fuel, asked);
      why = found.range.missing;
      if (!why) { found.trip = tripOf(airplane, way, found.range, asked, fuel.payload); }
    }
    if (why) { found.range = missing(why); found.trip = missing(why); }
    return found;
  }

  // As many decimals as the uncertainty supports: one digit of it, two where it begins with 1 or 2.
  // An exact value is no finer than its grain, as it was declared.
  function decimals(value, half, grain) {
    if (!(half > 0)) {
      if (grain && value) {
        return Math.max(-Math.floor(Math.log10(grain * (1 + 1e-9))), 1 - Math.floor(Math.log10(Math.abs(value))));
      }
      for (var d = 0; d < 3; d += 1) {
        if (Math.abs(Number(value.toFixed(d)) - value) < 1e-6 * Math.max(Math.abs(value), 1)) { return d; }
      }
      return 2;
    }
    var exponent = Math.floor(Math.log10(half));
    return Math.min(-exponent + (half / Math.pow(10, exponent) < 2.95 ? 1 : 0), 6);
  }

  function number(value, places) {
    var unit = Math.pow(10, -places);
    var text = places < 0 ? (Math.round(value / unit) * unit).toFixed(0) : value.toFixed(places);
    var parts = text.replace("-", "−").split(".");
    parts[0] = parts[0].replace(/\B(?=(\d{3})+$)/g, data.marks[1]);
    return parts.join(data.marks[0]);
  }

  // A figure in each of some units, the first before the others.
  function told(figure, units) {
    var texts = units.map(function (unit) {
      var value = figure.value * unit.factor, spread = figure.half * unit.factor;
      var places = decimals(value, spread, figure.grain * unit.factor);
      return number(value, places) + (spread > 0 ? " ± " + number(spread, places) : "") + "\u00a0" + unit.unit;
    });
    return texts[0] + (texts[1] ? " (" + texts[1] + ")" : "");
  }

  function money(unit) { return [{ unit: unit, factor: 1 }]; }

  function clock(figure) {
    var minutes = Math.round(figure.value);
    var half = Math.max(Math.round(figure.half), 1);
    var rest = minutes % 60;
    return Math.floor(minutes / 60) + ":" + (rest < 10 ? "0" : "") + rest + " ± " + half + "\u00a0min";
  }

  function does(trip) {
    if (trip.missing) { return { kind: "not", words: "Cannot: " + trip.missing }; }
    var near = trip.near ? ", a near thing" : "";
    if (trip.stops === 0) { return { kind: "nonstop", words: "Nonstop" + near }; }
    var word = trip.stops + (trip.stops === 1 ? " stop" : " stops");
    return { kind: "stops", words: "With " + word + near };
  }

  function sentence(named) {
    var order = [["nonstop", "Nonstop"], ["stops", "With stops"], ["not", "Cannot"]];
    return order.filter(function (pair) { return named[pair[0]].length; }).map(function (pair) {
      return pair[1] + ": " + named[pair[0]].join(", ");
    }).join(". ") + ".";
  }

  function asNumber(name) {
    var field = form.elements[name], value = Number(field.value);
    if (field.value === "" || !isFinite(value)) { value = data.start[name]; }
    value = Math.min(Math.max(value, Number(field.min)), Number(field.max));
    if (name === "people") { return Math.round(value); }
    return name === "bags" ? Math.round(value / data.bags.step) * data.bags.step : value;
  }

  function set(node, text) { if (node.textContent !== text) { node.textContent = text; } }

  function niceEnd(most) {
    var unit = Math.pow(10, Math.floor(Math.log10(most)));
    return unit * [1, 1.5, 2, 3, 4, 5, 6, 8, 10].find(function (n) { return n * unit >= most; });
  }

  function draw(row, found, end, asked) {
    var range = found.range, to = range.missing ? 0 : 1000 * range.value / end;
    var half = range.missing ? 0 : 1000 * range.half / end;
    var far = row.querySelector(".far"), band = row.querySelector(".band");
    far.setAttribute("width", Math.max(to - half, 0).toFixed(1));
    band.setAttribute("x", Math.max(to - half, 0).toFixed(1));
    band.setAttribute("width", Math.min(2 * half, 1000).toFixed(1));
    var at = (1000 * asked.trip / end).toFixed(1);
    row.querySelector(".goal").setAttribute("d", "M" + at + " 4V40");
  }

  var PRINTED = {
    range: function (figure) { return told(figure, data.units.trip); },
    time: clock,
    used: function (figure) { return told(figure, data.units.fuel); },
    fuel: function (figure) { return told(figure, data.units.fuel); },
    hour: function (figure) { return told(figure, money(data.currency + "/h")); },
    year: function (figure) { return told(figure, money(data.currency)); }
  };

  function figures(found) {
    var trip = found.trip, cost = found.cost;
    return {
      range: found.range, fuel: found.fuel,
      time: trip.missing ? trip : trip.time, used: trip.missing ? trip : trip.used,
      hour: cost && cost.hour, year: cost && cost.year
    };
  }

  // Why there is no figure, the reason once: it stands in the words above, or in the cell before.
  function gone(figure, said) {
    if (!figure) { return "no prices in the study"; }
    return figure.missing && (figure.missing === said ? "none, for the same reason" : figure.missing);
  }

  function show(airplane, found, end, asked) {
    var row = document.getElementById("airplane-" + airplane.key);
    var verdict = does(found.trip);
    row.dataset.does = verdict.kind;
    set(row.querySelector(".does"), verdict.words);
    var said = found.trip.missing;
    row.querySelectorAll("[data-part]").forEach(function (part) {
      var name = part.dataset.part, figure = figures(found)[name], cell = part.querySelector("dd");
      cell.className = !figure || figure.missing ? "gone" : "";
      set(cell, gone(figure, said) || PRINTED[name](figure));
      said = figure && figure.missing || said;
    });
    draw(row, found, end, asked);
    return verdict.kind;
  }

  // What is asked, in the units of the tables.
  function inTables(asked) {
    var inner = {};
    names.forEach(function (name) {
      inner[name] = name === "trip" || name === "wind" ? asked[name] / data.units[name][0].factor : asked[name];
    });
    return inner;
  }

  function redraw() {
    var asked = {};
    names.forEach(function (name) {
      asked[name] = asNumber(name);
      document.getElementById(name + "-slide").value = asked[name];
    });
    var inner = inTables(asked);
    var found = data.airplanes.map(function (airplane) { return answer(airplane, inner); });
    var most = found.reduce(function (far, f) {
      return Math.max(far, f.range.missing ? 0 : f.range.value + f.range.half);
    }, inner.trip);
    var end = niceEnd(most * data.units.trip[0].factor) / data.units.trip[0].factor;
    var named = { nonstop: [], stops: [], not: [] };
    data.airplanes.forEach(function (airplane, i) {
      named[show(airplane, found[i], end, inner)].push(airplane.name);
    });
    set(document.getElementById("verdict"), sentence(named));
    set(document.getElementById("said"), said(asked));
    set(document.getElementById("scale"), told({ value: end, half: 0 }, data.units.trip));
    return asked;
  }

  function said(asked) {
    var wind = Math.abs(asked.wind) + "\u00a0" + data.units.wind[0].unit + (asked.wind < 0 ? " tail wind" : " head wind");
    return [
      asked.people + (asked.people === 1 ? " person" : " people"),
      asked.bags + "\u00a0" + data.bags.unit + " of bags",
      number(asked.trip, 0) + "\u00a0" + data.units.trip[0].unit,
      wind,
      asked.reserve + "\u00a0min reserve"
    ].concat("hours" in asked ? [asked.hours + " hours a year"] : []).join(", ") + ".";
  }

  function fill(values) {
    names.forEach(function (name) {
      if (!(name in values)) { return; }
      form.elements[name].value = values[name];
      form.elements[name].value = asNumber(name);
    });
  }

  function fromAddress() {
    var values = {};
    location.hash.slice(1).split("&").forEach(function (pair) {
      var parts = pair.split("="), value = parseFloat(parts[1]);
      if (names.indexOf(parts[0]) >= 0 && isFinite(value)) { values[parts[0]] = value; }
    });
    return values;
  }

  var later = 0;
  function keep(asked) {
    clearTimeout(later);
    later = setTimeout(function () {
      var parts = names.map(function (name) { return name + "=" + asked[name]; });
      try { history.replaceState(null, "", "#" + parts.join("&")); } catch (refused) { /* a page without address */ }
    }, 250);
  }

  form.addEventListener("input", function (event) {
    var slide = event.target.dataset.for;
    if (slide) { form.elements[slide].value = event.target.value; }
    keep(redraw());
  });
  form.addEventListener("change", function (event) {
    var name = event.target.name;
    if (name) { event.target.value = asNumber(name); }
  });
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  form.addEventListener("reset", function (event) {
    event.preventDefault();
    fill(data.start);
    keep(redraw());
  });
  form.addEventListener("click", function (event) {
    var button = event.target.closest("[data-trip]");
    if (button) { fill(data.trips[Number(button.dataset.trip)]); keep(redraw()); }
  });
  window.addEventListener("hashchange", function () { fill(fromAddress()); redraw(); });
  fill(data.start);
  fill(fromAddress());
  redraw();
})();

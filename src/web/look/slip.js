// Extras of the bench page: every page works without them. Drafts, unit chips that remember,
// stopwatch and pulse counter at the start watch, word of other phones, the print button.
// Nothing leaves this machine but the question how many entries the job has.
"use strict";
(() => {
  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* private window */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* private window */ } },
  };
  const says = document.getElementById("says");
  const make = (name, text) => {
    const one = document.createElement(name);
    one.textContent = text;
    return one;
  };
  const button = (text, press) => {
    const one = make("button", text);
    one.type = "button";
    one.addEventListener("click", press);
    return one;
  };

  // Drafts: what is typed is kept in this browser until it was saved.
  const pending = store.get("pending");
  if (pending && !document.querySelector(".wrong")) {
    store.drop(pending);
    store.drop("pending");
  }
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const check = form.querySelector("input[name=check]");
    const key = "draft/" + form.dataset.draft + (check ? "/" + check.value : "");
    const fields = [...form.querySelectorAll("input[type=text], textarea")];
    let kept = {};
    try { kept = JSON.parse(store.get(key) || "{}"); } catch { kept = {}; }
    for (const field of fields) {
      if (!field.value && kept[field.name]) field.value = kept[field.name];
      field.addEventListener("input", () => {
        const now = {};
        for (const f of fields) if (f.value) now[f.name] = f.value;
        store.set(key, JSON.stringify(now));
      });
    }
    form.addEventListener("submit", () => store.set("pending", key));
  }

  // Unit chips: the unit tapped last is tapped next time.
  for (const chips of document.querySelectorAll("fieldset[data-units]")) {
    const radios = [...chips.querySelectorAll("input[type=radio]")];
    const key = "unit/" + radios.map((r) => r.value).join(",");
    const last = radios.find((r) => r.value === store.get(key));
    const field = document.getElementById(chips.dataset.units);
    if (last && field && !field.value) last.checked = true;
    chips.addEventListener("change", (e) => store.set(key, e.target.value));
  }

  // Stopwatch and pulse counter.
  const watch = document.querySelector(".watch");
  if (watch) {
    watch.hidden = false;
    const clock = document.createElement("div");
    clock.className = "tool";
    const shown = make("output", "0.0 s");
    const laps = make("ol", "");
    laps.className = "laps";
    let from = 0;
    let turning = 0;
    const seconds = () => (performance.now() - from) / 1000;
    const steps = ["Cranking", "First fire", "Runs", "Runs even"];
    let step = 0;
    const put = (name, value) => {
      const field = document.getElementById(name);
      if (field) {
        field.value = value;
        field.dispatchEvent(new Event("input"));
      }
    };
    const main = button("Start: " + steps[0], () => {
      if (step === 0) {
        from = performance.now();
        laps.textContent = "";
        turning = setInterval(() => {
          const t = seconds();
          shown.textContent = t.toFixed(1) + " s";
          if (step < 3 && t > 30) says.textContent = "30 s of cranking: let the starter rest 2 minutes.";
        }, 100);
      } else {
        laps.append(make("li", steps[step] + ": " + seconds().toFixed(1) + " s"));
        if (step === 2) put("sign.crank_time.seconds", seconds().toFixed(1));
        if (step === 3) put("sign.time_to_even.seconds", seconds().toFixed(1));
      }
      step += 1;
      if (step === steps.length) {
        clearInterval(turning);
        step = 0;
      }
      main.textContent = (step === 0 ? "Start: " : "") + steps[step];
    });
    const stop = button("Stop the watch", () => {
      clearInterval(turning);
      step = 0;
      main.textContent = "Start: " + steps[0];
    });
    clock.append(make("h2", "Stopwatch"), shown, main, stop, laps);

    const counter = document.createElement("div");
    counter.className = "tool";
    const speed = make("output", "– rpm");
    const cylinders = Number(watch.dataset.cylinders);
    let taps = [];
    const tap = button("Tap once a puff", () => {
      taps.push(performance.now());
      if (taps.length < 3) return;
      const span = (taps[taps.length - 1] - taps[0]) / 1000;
      const gaps = taps.slice(1).map((t, i) => t - taps[i]);
      const middle = [...gaps].sort((a, b) => a - b)[Math.floor(gaps.length / 2)];
      const uneven = gaps.some((g) => g > 1.5 * middle);
      // Four-stroke: one puff a cylinder every two turns.
      const rpm = (120 * (taps.length - 1)) / (cylinders * span);
      speed.textContent = (cylinders ? rpm.toFixed(0) + " rpm" : (60 * (taps.length - 1) / span).toFixed(0) + " puffs a minute")
        + (uneven ? ", uneven" : "");
    });
    const again = button("Count again", () => {
      taps = [];
      speed.textContent = "– rpm";
    });
    counter.append(make("h2", "Pulse counter"), make("p", "Tap once for each puff while it cranks."), speed, tap, again);
    watch.append(clock, counter);
  }

  // Word of other phones.
  const head = document.querySelector("[data-job]");
  if (head && window.fetch) {
    const known = Number(head.dataset.entries);
    const look = async () => {
      if (document.hidden) return;
      try {
        const answer = await fetch(head.dataset.job, { credentials: "same-origin" });
        const now = Number(await answer.text());
        if (says.dataset.away) {
          says.textContent = "";
          delete says.dataset.away;
        }
        if (answer.ok && now > known) says.textContent = "Another phone wrote " + (now - known) + " more. Open the slip again to see it.";
      } catch {
        says.dataset.away = "yes";
        says.textContent = "The bench is out of reach. What you type is kept in this browser; save when it is back.";
      }
    };
    setInterval(look, 15000);
  }

  for (const print of document.querySelectorAll(".print")) {
    print.hidden = false;
    print.addEventListener("click", () => window.print());
  }
})();

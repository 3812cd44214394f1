#!/usr/bin/env python3
"""Load on the bench page: clients that read and write for a while; prints, asserts nothing in time.

    tests/bench/load.py target/release/hardstart [--clients 50] [--seconds 60] [--jobs 10000]

Prints start-up, p50/p95/max of pages and of writes, resident memory, and whether every entry that
was acknowledged is in the book. Clients arrive over ten seconds, each with an engine and readings of
its own, look, think two seconds, and write one time in four. After a write they go on to the slip at
once, as a browser does; where it says that it is being reckoned they look again, and how long it took
until it was whole is printed too. The load of the machine and the processor time of the server are
printed beside, for figures of a busy machine say little. Standard library only.
"""
import argparse, http.client, json, os, re, shutil, subprocess, sys, tempfile, threading, time
from urllib.parse import urlencode

THINK = 2.0
ARRIVE = 10.0
# How soon the script of a page that is being reckoned looks again.
AGAIN = 0.5
ENGINE = dict(cylinders="4", chamber="swirl", preheat="plugs", pump="rotary", system_volts="12")


class Client:
    def __init__(self, port):
        self.port, self.cookie, self.token, self.n = port, "", "", 0
        self.link = None
        self.token = re.search(r'name="token" value="(\w+)"', self.get("/new")[1])[1]

    def ask(self, method, path, body=None):
        host = f"127.0.0.1:{self.port}"
        head = {"Cookie": self.cookie, "Origin": f"http://{host}"}
        if body is not None:
            head["Content-Type"] = "application/x-www-form-urlencoded"
        for last in (False, True):
            try:
                self.link = self.link or http.client.HTTPConnection(host, timeout=120)
                self.link.request(method, path, body, head)
                answer = self.link.getresponse()
                text = answer.read().decode()
                break
            except (http.client.HTTPException, OSError):
                # A connection that was idle is closed by the server.
                self.link = None
                if last:
                    raise
        if answer.getheader("Set-Cookie"):
            self.cookie = answer.getheader("Set-Cookie").split(";")[0]
        return answer, text

    def get(self, path):
        return self.ask("GET", path)

    def post(self, path, **fields):
        self.n += 1
        key = f"{id(self):x}-{self.n}"
        return self.ask("POST", path, urlencode({"token": self.token, "key": key, **fields}))


def middle(times, share):
    times = sorted(times)
    return 1000 * times[min(len(times) - 1, int(share * len(times)))] if times else float("nan")


def take(args, book, jobs):
    engine = {**ENGINE, "cylinders": 4, "system_volts": 12}
    with open(jobs, "w") as out:
        for n in range(args.jobs):
            out.write(json.dumps({"schema": "hardstart/job/1", "job": f"L-{n}",
                                  "complaint": "hard cold", "engine": engine}) + "\n")
    subprocess.run([args.program, "job", "take", "--book", book, jobs], check=True,
                   stdout=subprocess.DEVNULL)


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("program")
    ask.add_argument("--clients", type=int, default=50)
    ask.add_argument("--seconds", type=float, default=60)
    ask.add_argument("--jobs", type=int, default=10000)
    ask.add_argument("--book", help="begin with a copy of this book and not with fresh jobs")
    args = ask.parse_args()
    with tempfile.TemporaryDirectory() as place:
        book = os.path.join(place, "book")
        jobs = os.path.join(place, "jobs.ndjson")
        if args.book:
            shutil.copy(args.book, book)
        else:
            take(args, book, jobs)
        begun = time.perf_counter()
        server = subprocess.Popen([args.program, "serve", "--book", book, "--port", "0"],
                                  stdout=subprocess.PIPE, text=True)
        port = int(re.search(r":(\d+)/", server.stdout.readline())[1])
        print(f"start-up {1000 * (time.perf_counter() - begun):.0f} ms")
        pages, writes, whole, lists, kept, errors = [], [], [], [], {}, []
        until = time.perf_counter() + args.seconds
        lock = threading.Lock()

        def run(number):
            try:
                time.sleep(ARRIVE * number / args.clients)
                client = Client(port)
                engine = {**ENGINE, "cylinders": str((3, 4, 5, 6)[number % 4]),
                          "chamber": ("swirl", "prechamber", "direct")[number % 3],
                          "hours": str(1000 + 10 * number), "hours.unit": "h"}
                answer, text = client.post("/new", complaint="hard cold", **engine)
                job = answer.getheader("Location")
                if job is None:
                    raise ValueError(f"no job opened: {answer.status} {re.sub('<[^>]*>', ' ', text)[:200]}")
                count = 0
                while time.perf_counter() < until:
                    at = time.perf_counter()
                    writing = client.n % 4 == 1 or count == 0
                    if writing:
                        answer, text = client.post(job + "/add", what="reading",
                                                   check="battery_rest_volts",
                                                   value=f"12,{20 + number} V")
                        if answer.status == 303:
                            count += 1
                        else:
                            errors.append((answer.status, text[:200]))
                    else:
                        client.n += 1
                        answer, text = client.get(job if client.n % 2 else "/")
                        if answer.status != 200:
                            errors.append((answer.status, text[:200]))
                    with lock:
                        (writes if writing else pages).append(time.perf_counter() - at)
                        if not writing and client.n % 2 == 0:
                            lists.append(pages[-1])
                    if writing and answer.status == 303:
                        at, place = time.perf_counter(), answer.getheader("Location")
                        while True:
                            asked = time.perf_counter()
                            answer, text = client.get(place)
                            with lock:
                                pages.append(time.perf_counter() - asked)
                            if "data-again" not in text:
                                break
                            time.sleep(AGAIN)
                        with lock:
                            whole.append(time.perf_counter() - at)
                    time.sleep(THINK)
                kept[job.rsplit("/", 1)[1]] = count
            except Exception as error:  # a client that fails is counted, not hidden
                errors.append((number, repr(error)))

        threads = [threading.Thread(target=run, args=(n,)) for n in range(args.clients)]
        [t.start() for t in threads]
        [t.join() for t in threads]
        with open(f"/proc/{server.pid}/status") as status:
            text = status.read()
            rss, peak = (int(re.search(rf"{key}:\s+(\d+)", text)[1]) / 1024
                         for key in ("VmRSS", "VmHWM"))
        with open(f"/proc/{server.pid}/stat") as stat:
            ticks = stat.read().rsplit(")", 1)[1].split()
            busy = (int(ticks[11]) + int(ticks[12])) / os.sysconf("SC_CLK_TCK")
        with open("/proc/loadavg") as load:
            print(f"load of the machine {load.read().split()[0]}, cores {os.cpu_count()}, "
                  f"processor time of the server {busy:.0f} s")
        server.terminate()
        server.wait()
        for name, times in (("pages", pages), ("the list among them", lists), ("writes", writes),
                            ("slips whole after a write", whole)):
            print(f"{name}: {len(times)}, p50 {middle(times, .5):.0f} ms, "
                  f"p95 {middle(times, .95):.0f} ms, max {middle(times, 1):.0f} ms")
        print(f"resident {rss:.0f} MB, at most {peak:.0f} MB; failures {len(errors)} {errors[:3]}")
        lost = 0
        for job, count in kept.items():
            shown = subprocess.run([args.program, "job", "show", job, "--json", "--book", book],
                                   capture_output=True, text=True, check=True)
            lost += count - len(json.loads(shown.stdout).get("entry", []))
        print(f"entries acknowledged {sum(kept.values())}, lost {lost}")
        return 1 if lost or errors else 0


if __name__ == "__main__":
    sys.exit(main())

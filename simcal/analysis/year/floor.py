"""The laboratory at work: jobs wait, benches do them, sensors are put in and out; simpy keeps the time.

A bench does one thing at a time: what its sensors ask for first (`errands`), then the most urgent job that it has the
sensors for. Where a sensor lies on the shelf, or on a bench that has nothing to do, it is fetched for the job. A
failure loses what was being done; it is begun again after the repair. `fleet` sends the sensors away.
"""

from collections import deque
from collections.abc import Callable, Generator, Sequence
from typing import Any

import simpy

from simcal.analysis.year.luck import Luck
from simcal.analysis.year.shop import Job, Kind, Need, Shop, met
from simcal.analysis.year.tally import Tally

Steps = Generator[simpy.Event, Any, None]
Errand = Callable[[int], Steps]
Parts = list[tuple[str, float]]
"""What a bench does for how many staffed seconds"""
SHELF, GONE = -1, -2
"""Where a sensor is, when on no bench"""
CONNECT, RUN, CHECK, RELEASE, MEND = "connecting", "running", "leak check", "releasing", "connecting again"
EXCHANGE, RESEAT, ACCEPT = "exchange", "reseating", "acceptance"
LOST, DOWN, IDLE, SHORT = "lost", "failed", "no work", "no sensor"


class Floor:
    """One run of a laboratory from `start` to the end of what `tally` counts."""

    def __init__(self, shop: Shop, jobs: Sequence[Job], luck: Luck, tally: Tally, start: float) -> None:
        self.shop, self.jobs, self.luck, self.tally = shop, jobs, luck, tally
        self.env = simpy.Environment(initial_time=start)
        benches = range(shop.benches)
        self.where = [SHELF] * len(shop.sensors)
        for b, sensors in enumerate(shop.layout):
            for i in sensors:
                self.where[i] = b
        self.usable = (1 << len(shop.sensors)) - 1
        self._here: dict[int, int] = {}  # place -> its usable sensors, until something changes
        self.home = [len(one) for one in shop.layout]
        self.failed = [False for _ in benches]
        self.reseating = [False for _ in benches]
        self.leaks = [False for _ in benches]
        self.errands: list[deque[Errand]] = [deque() for _ in benches]
        self.common: deque[Errand] = deque()
        self.idle: list[simpy.Event | None] = [None for _ in benches]
        self.used: dict[int, simpy.Event] = {i: self.env.event() for i in range(len(shop.sensors))}
        self.needs: list[Need] = list(dict.fromkeys(kind.need for kind in shop.kinds))
        self._class = [self.needs.index(kind.need) for kind in shop.kinds]
        self._queues = [[deque[Job]() for _ in self.needs] for _ in (True, False)]  # urgent ones, then the others
        self.waiting = 0
        self._met: dict[tuple[int, int], bool] = {}
        self.doing: list[tuple[Parts, float] | None] = [None for _ in benches]
        self.processes: list[simpy.Process] = []

    def run(self) -> None:
        """From start to end."""
        shop, env = self.shop, self.env
        self.tally.state(env.now, self._state())
        for i, b in enumerate(self.where):
            if b >= 0:
                self.used[i].succeed()
        for b in range(shop.benches):
            self.processes.append(env.process(self._bench(b)))
            if shop.fails is not None:
                env.process(self._failures(b))
        env.process(self._arrivals())
        env.run(until=self.tally.end)
        for doing in self.doing:
            if doing is not None:
                self.tally.work(*doing, self.env.now)
        self.tally.close()

    # what is there

    def on(self, b: int) -> int:
        """Usable sensors on a bench, or on the shelf, as bits."""
        if b not in self._here:
            self._here[b] = sum(1 << i for i, at in enumerate(self.where) if at == b and self.usable >> i & 1)
        return self._here[b]

    def free(self, b: int) -> bool:
        """Whether a bench has a place, and fewer sensors than at first."""
        count = sum(at == b for at in self.where)
        return count < min(self.shop.places, self.home[b])

    def changed(self) -> None:
        """Sensors or benches came or went: the state is told, and benches look again."""
        self.tally.state(self.env.now, self._state())
        self.wake()

    def wake(self) -> None:
        """Benches that wait look for something to do."""
        for b, event in enumerate(self.idle):
            if event is not None:
                self.idle[b] = None
                event.succeed()

    def allow(self, i: int, yes: bool) -> None:
        """Whether sensor i may be used."""
        self.usable = self.usable | 1 << i if yes else self.usable & ~(1 << i)
        self._here.clear()

    def move(self, i: int, b: int) -> None:
        """Sensor i is at b now; on a bench it is in use."""
        self.where[i] = b
        self._here.clear()
        if b >= 0 and not self.used[i].triggered:
            self.used[i].succeed()

    def _state(self) -> tuple[int, bool]:
        there = self.on(SHELF)
        for b in range(self.shop.benches):
            there |= self.on(b)
        return there, any(not f and not r for f, r in zip(self.failed, self.reseating, strict=True))

    def _serves(self, number: int, sensors: int) -> bool:
        key = (number, sensors)
        if key not in self._met:
            self._met[key] = met(self.needs[number], sensors)
        return self._met[key]

    # jobs

    def _arrivals(self) -> Steps:
        tally, shop, env = self.tally, self.shop, self.env
        for job in self.jobs:
            if job.arrival > env.now:
                yield env.timeout(job.arrival - env.now)
            number = self._class[job.kind]
            there, up = self._state()
            tally.could_start[job.number] = up and self._serves(number, there)
            if 0 in self.needs[number] or (shop.queue is not None and self.waiting >= shop.queue):
                tally.refused[job.number] = env.now
                continue
            tally.came(env.now, 1)
            self._queues[not job.urgent][number].append(job)
            self._waits(1)
            self.wake()

    def _waits(self, more: int) -> None:
        self.waiting += more
        if self.tally.marks is not None:
            self.tally.queue.append((self.env.now, self.waiting))

    def _next(self, b: int) -> Job | None:
        """The job to do: urgent before others, in the order they came, of those that have their sensors here."""
        for queues in self._queues:
            heads = [(queue[0].number, c) for c, queue in enumerate(queues) if self._patient(queue)]
            ready = [(number, c) for number, c in heads if self._may_do(b, c)]
            if ready:
                self._waits(-1)
                return queues[min(ready)[1]].popleft()
        return None

    def _patient(self, queue: deque[Job]) -> bool:
        """Whether somebody waits there; those that waited too long go."""
        while queue and self.env.now - queue[0].arrival > self.shop.patience_s:
            gone = queue.popleft()
            self.tally.taken_back[gone.number] = self.env.now
            self.tally.came(self.env.now, -1)
            self._waits(-1)
        return bool(queue)

    def _may_do(self, b: int, number: int) -> bool:
        """Whether a bench has what a need asks for, or can have it without robbing one that could do it itself."""
        shelf = self.on(SHELF)
        if self._serves(number, self.on(b) | shelf):
            return True
        idle = [x for x, event in enumerate(self.idle) if event is not None and x != b]
        return self._serves(number, self._reach(b)) and not any(self._serves(number, self.on(x) | shelf) for x in idle)

    def _reach(self, b: int) -> int:
        """Sensors that a bench may use: its own, those on the shelf and on benches without work or without life."""
        there = self.on(b) | self.on(SHELF)
        for x, event in enumerate(self.idle):
            if event is not None or self.failed[x]:
                there |= self.on(x)
        return there

    # benches

    def _bench(self, b: int) -> Steps:
        while True:
            job = None
            queue = self.errands[b] or self.common
            if queue:
                yield from queue.popleft()(b)
            elif (job := self._next(b)) is not None:
                yield from self._do(b, job)
            else:
                yield from self._rest(b)

    def _rest(self, b: int) -> Steps:
        event = self.env.event()
        self.idle[b] = event
        since, resting = self.env.now, [(SHORT if self.waiting else IDLE, 1.0)]
        self.doing[b] = resting, since
        try:
            yield event
        except simpy.Interrupt as failure:
            self.idle[b] = None
            self.tally.work(resting, since, self.env.now)
            yield from self._repair(b, failure.cause)
        else:
            self.tally.work(resting, since, self.env.now)
        self.doing[b] = None

    def work(self, b: int, parts: Parts) -> Steps:
        """Do so many staffed seconds of this and that; a failure loses them."""
        total = sum(seconds for _, seconds in parts)
        while total > 0.0:
            began = self.env.now
            self.doing[b] = parts, began
            try:
                yield self.env.timeout(self.shop.hours.after(began, total) - began)
            except simpy.Interrupt as failure:
                self.tally.work([(LOST, 1.0)], began, self.env.now)
                yield from self._repair(b, failure.cause)
                continue
            self.tally.work(parts, began, self.env.now)
            self.doing[b] = None
            return

    def _do(self, b: int, job: Job) -> Steps:
        tally, kind = self.tally, self.shop.kinds[job.kind]
        tally.started[job.number] = self.env.now
        yield from self._fetch(b, kind.need)
        sensors = self.on(b)
        yield from self.work(b, self._parts(b, job, kind))
        if self.leaks[b]:
            tally.leaky.add(job.number)
            if job.luck and job.luck[3] >= self.shop.check.miss:
                self.leaks[b] = False
                yield from self.reseat(b)
        tally.sensors_of[job.number] = sensors
        tally.ended[job.number] = self.env.now
        tally.came(self.env.now, -1)
        self.wake()

    def _parts(self, b: int, job: Job, kind: Kind) -> Parts:
        """What a job takes, its leak check's surprises with it."""
        if job.work_s is not None:
            return [(RUN, job.work_s)]
        parts = [(CONNECT, kind.connect_s), (RUN, kind.run_s), (CHECK, kind.check_s), (RELEASE, kind.release_s)]
        check = self.shop.check
        bad = job.luck[0] < check.bad
        seen = job.luck[1] >= check.miss
        alarm = not self.leaks[b] and job.luck[2] < check.false_alarm
        if seen if bad else alarm:
            parts += [(MEND, check.again_s), (CHECK, kind.check_s)]
        return parts

    # sensors in and out

    def _fetch(self, b: int, need: Need) -> Steps:
        """Bring what a job needs to its bench, all in one venting."""
        here = self.on(b)
        lacking = [mask for mask in need if not mask & here]
        if not lacking:
            return
        reach, kept = self._reach(b), 0
        for mask in sorted(need):
            if not mask & kept:
                first = mask & here or mask & reach
                kept |= first & -first
        fetched = [i for i in range(len(self.where)) if kept >> i & 1 and self.where[i] != b]
        over = sum(at == b for at in self.where) + len(fetched) - self.shop.places
        spare = [i for i, at in enumerate(self.where) if at == b and not kept >> i & 1]
        for i in spare[: max(over, 0)]:
            self.move(i, SHELF)
        for i in fetched:
            self.move(i, b)
        yield from self.exchange(b, len(fetched))

    def exchange(self, b: int, count: int) -> Steps:
        """The time to put in or take out so many sensors, and what the seals do afterwards."""
        shop = self.shop
        self.tally.exchanges += count if self.tally.counted(self.env.now) else 0
        if shop.exchange.takes_s + shop.exchange.check_s > 0.0:
            yield from self.work(b, [(EXCHANGE, count * shop.exchange.takes_s + shop.exchange.check_s)])
        if shop.exchange.bad > 0.0:
            good = (1.0 - shop.exchange.bad) ** count
            while self.luck(f"seals {b}") > good:
                if self.luck(f"checks {b}") < shop.exchange.miss:
                    self.leaks[b] = True
                    return
                yield from self.reseat(b)
                good = 1.0 - shop.exchange.bad

    def reseat(self, b: int) -> Steps:
        """Find and renew a seal: the bench is down."""
        began = self.env.now
        self.reseating[b] = True
        self.changed()
        yield from self.work(b, [(RESEAT, self.shop.exchange.reseat_s + self.shop.exchange.check_s)])
        self.reseating[b] = False
        self.tally.mark(f"bench {b}", began, self.env.now, RESEAT)
        self.changed()

    # failures

    def _failures(self, b: int) -> Steps:
        shop, env = self.shop, self.env
        assert shop.fails is not None
        while True:
            lasts = shop.fails.at(self.luck(f"failures {b}"))
            yield env.timeout(shop.hours.after(env.now, lasts) - env.now)
            repaired = env.event()
            self.processes[b].interrupt(repaired)
            yield repaired

    def _repair(self, b: int, repaired: simpy.Event | None) -> Steps:
        assert repaired is not None
        began = self.env.now
        self.doing[b] = [(DOWN, 1.0)], began
        self.failed[b] = True
        self.changed()
        yield self.env.timeout(self.shop.repair.at(self.luck(f"repairs {b}")))
        self.failed[b] = False
        self.tally.work([(DOWN, 1.0)], began, self.env.now)
        self.tally.mark(f"bench {b}", began, self.env.now, DOWN)
        self.doing[b] = None
        repaired.succeed()
        self.changed()

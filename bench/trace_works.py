#!/usr/bin/python3
"""Generated works that judge `goodside trace`: a family of metal, heard discs, recurring faults and their truth.

    trace_works.py --out FOLDER [--model logistic|threshold|clustered] [--works N] [--seed N] [--jobs N] [--small]

Each works becomes a folder with family.json (goodside.family/1), reports/*.json (goodside.listen/1) and truth.json.
Written from the contracts alone; nothing here is taken from, or tuned to, the program that it judges.

What every model shares
  metal      cut -> father -> 1 to 3 mothers -> 2 to 12 stampers, each pressed over 1 to 3 mountings on 1 or 2 presses;
             the presses close in turn, so with two of them the impressions of two stampers interleave in the title's count.
  hearing    20 to 400 discs of one side are heard: tickets with exact impressions, discs from a spindle (a range of
             impressions, the stamper read from the matrix number), a few of which nothing but the stamper is known.
             Some are played again after brushing, washing or reseating; some only in an excerpt or with a hole.
  chance     each disc has faults of its own: pressed in (they stay) and dust (brushing takes 80 %, washing 95 %; 10 %
             as many settle anew). A play hears each with probability 0.85; on average up to 30 a play.
  recurring  Poisson(3) a works, at uniform places 0.5 s apart. The cause is drawn from the model's prior: a level, a
             node of it, then when it began and ended:
               cut        on every disc
               father     since birth, or hurt between two mothers: those grown later carry it
               mother     since birth, or hurt between two stampers
               stamper    since birth, at an impression, or at a step (washed, repaired, faced again); it ends never, at
                          a step, or of itself (dirt that goes again)
               mounting   since it was mounted, or from an impression; it ends with the mounting, or of itself
             plus a few faults of one disc alone that several plays of it repeat.
  people     up to 6 remarks a works: a disc and a time known within 1 to 5 s; 70 % point at a fault that recurs, the
             rest anywhere.

The models (their shapes differ on purpose; the parameters of each works are drawn anew)
  logistic   a fault of strength s dB (uniform) is heard with a logistic probability of s, 60 to 99 %; its excess is told
             within 1.5 dB; times are Gaussian with the sigma told (0.3 to 3 ms); chance faults are uniform in time with
             exponential strengths; stampers' lives are uniform; kinds are kept by 90 % of hearings.
  threshold  each hearing's strength scatters by 3 dB round the fault's and is heard above 8 dB (60 to 99 %, mostly
             weak: a beta shape); times follow Student's t with 4 degrees of freedom (scale told, 1 to 6 ms); chance
             faults crowd at the outer edge; lives are Weibull; half of the discs are known as ranges; steps are noted
             two times in three; 8 % of recurring faults are scratches: one tick a turn over 4 to 8 turns, told as a pattern.
  clustered  kept aside: nobody looks at it before the end. Detection is a beta draw a fault, strengths are lognormal and
             tell nothing; times are Laplace, with an offset common to each report, and the sigma told is up to 25 % wrong;
             chance faults come in clumps of 1 to 6 within two turns; lives are lognormal; the order of hearing is the
             first discs of every mounting, then at random.
"""
import argparse
import json
import math
import multiprocessing
import pathlib
import time
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import stats

KINDS = ["tick", "pop", "burst"]
KIND_SHARE = np.array([0.7, 0.2, 0.1])
CHANCE_HEARD = 0.85
BRUSHED_TAKES, WASHED_TAKES, NEW_DUST = 0.8, 0.95, 0.1
REMARK_TRUE = 0.7
REPLAY_DB = 1.0  # how far the excess of a disc's own fault strays from play to play
SEPARATION_S = 0.5
STEP_SHARE = 0.5  # that something is done to a stamper between two mountings


# ---- the models ------------------------------------------------------------------------------------------------------

class Logistic:
    name = "logistic"
    levels = {"cut": 0.08, "father": 0.12, "mother": 0.20, "stamper": 0.38, "mounting": 0.22}
    born, at_step, end_step, end_free = 0.5, 0.15, 0.3, 0.10
    same_kind, scratch, steps_noted = 0.9, 0.0, 1.0
    range_share, excerpt_share, hole_share, replay_share = (0.0, 0.5), 0.10, 0.10, 0.15
    grid_dB = np.linspace(10.0, 20.5, 10)

    def life(self, rng):
        return int(rng.integers(200, 1201))

    def chance_count(self, rng):
        return float(rng.uniform(0.0, 30.0))

    def sigma_s(self, rng):
        return float(np.exp(rng.uniform(np.log(3e-4), np.log(3e-3))))

    def strength_dB(self, rng):
        return float(rng.uniform(10.0, 20.5))

    def grid_weight(self):
        return np.full(len(self.grid_dB), 1.0 / len(self.grid_dB))

    def detection(self, strength_dB):
        return 1.0 / (1.0 + np.exp(-(strength_dB - 9.0) / 2.5))

    def hear(self, rng, strength_dB):
        """Excess of one hearing, or nothing when it was missed."""
        return strength_dB + rng.normal(0.0, 1.5) if rng.random() < self.detection(strength_dB) else None

    def mark_pdf(self, excess_dB, strength_dB):
        return stats.norm.pdf(excess_dB, strength_dB, 1.5)

    def chance_excess_dB(self, rng, n):
        return 6.0 + rng.exponential(4.0, n)

    def chance_mark_pdf(self, excess_dB):
        return np.maximum(stats.expon.pdf(excess_dB, 6.0, 4.0), 1e-6)

    def offset_s(self, rng, sigma_s):
        return 0.0

    def jitter_s(self, rng, sigma_s, n):
        return rng.normal(0.0, sigma_s, n)

    def jitter_pdf(self, dt_s, sigma_s):
        return stats.norm.pdf(dt_s, 0.0, sigma_s)

    def told_sigma_s(self, rng, sigma_s):
        return sigma_s

    def chance_times(self, rng, count, length_s):
        return rng.uniform(0.0, length_s, rng.poisson(count))

    def chance_shape(self, t_s, length_s):
        """Density of chance faults over time; its integral over the side is 1."""
        return np.full(np.shape(t_s), 1.0 / length_s)

    def pull(self, rng, works, n):
        """Which impressions are pulled for hearing."""
        total = works.impressions
        if rng.random() < 0.5:
            return rng.choice(np.arange(1, total + 1), n, replace=False)
        step = total / n
        return np.unique(np.clip((np.arange(n) * step + rng.uniform(0, step, n)).astype(int) + 1, 1, total))


class Threshold(Logistic):
    name = "threshold"
    levels = {"cut": 0.05, "father": 0.10, "mother": 0.25, "stamper": 0.40, "mounting": 0.20}
    born, at_step, end_step, end_free = 0.4, 0.25, 0.4, 0.15
    same_kind, scratch, steps_noted = 0.8, 0.08, 0.67
    range_share, excerpt_share, hole_share, replay_share = (0.3, 0.7), 0.2, 0.2, 0.1
    grid_dB = 8.76 + 6.2 * (np.arange(10) + 0.5) / 10

    def life(self, rng):
        return int(np.clip(150 + 800 * rng.weibull(2.2), 150, 2500))

    def chance_count(self, rng):
        return float(np.exp(rng.uniform(np.log(0.5), np.log(30.0))))

    def sigma_s(self, rng):
        return float(np.exp(rng.uniform(np.log(1e-3), np.log(6e-3))))

    def strength_dB(self, rng):
        return float(8.76 + 6.2 * rng.beta(1.2, 2.0))

    def grid_weight(self):
        weight = stats.beta.pdf((np.arange(10) + 0.5) / 10, 1.2, 2.0)
        return weight / weight.sum()

    def detection(self, strength_dB):
        return stats.norm.cdf((strength_dB - 8.0) / 3.0)

    def hear(self, rng, strength_dB):
        excess = strength_dB + rng.normal(0.0, 3.0)
        return excess if excess > 8.0 else None

    def mark_pdf(self, excess_dB, strength_dB):
        return np.where(excess_dB > 8.0, stats.norm.pdf(excess_dB, strength_dB, 3.0) / self.detection(strength_dB), 0.0)

    def chance_excess_dB(self, rng, n):
        return 8.0 + rng.exponential(6.0, n)

    def chance_mark_pdf(self, excess_dB):
        return np.maximum(stats.expon.pdf(excess_dB, 8.0, 6.0), 1e-6)

    def jitter_s(self, rng, sigma_s, n):
        return sigma_s * rng.standard_t(4, n)

    def jitter_pdf(self, dt_s, sigma_s):
        return stats.t.pdf(dt_s / sigma_s, 4) / sigma_s

    def chance_times(self, rng, count, length_s):
        n = rng.poisson(count)
        outer = rng.random(n) < 0.4
        t = rng.uniform(0.0, length_s, n)
        t[outer] = np.minimum(rng.exponential(0.08 * length_s, outer.sum()), length_s * (1 - 1e-9))
        return t

    def chance_shape(self, t_s, length_s):
        return 0.6 / length_s + 0.4 * np.exp(-np.asarray(t_s) / (0.08 * length_s)) / (0.08 * length_s)


class Clustered(Logistic):
    name = "clustered"
    levels = {"cut": 0.10, "father": 0.10, "mother": 0.15, "stamper": 0.40, "mounting": 0.25}
    born, at_step, end_step, end_free = 0.6, 0.1, 0.25, 0.15
    same_kind, scratch, steps_noted = 0.7, 0.0, 0.8
    range_share, excerpt_share, hole_share, replay_share = (0.1, 0.6), 0.15, 0.15, 0.2
    grid_dB = 0.6 + 0.39 * (np.arange(10) + 0.5) / 10  # here the grid is of the detection itself

    def life(self, rng):
        return int(np.clip(rng.lognormal(math.log(600), 0.5), 100, 2500))

    def chance_count(self, rng):
        return float(30.0 * rng.beta(1.0, 2.0))

    def sigma_s(self, rng):
        return float(np.exp(rng.uniform(np.log(2e-4), np.log(5e-3))))

    def strength_dB(self, rng):
        return float(0.6 + 0.39 * rng.beta(3.0, 1.5))

    def grid_weight(self):
        weight = stats.beta.pdf((np.arange(10) + 0.5) / 10, 3.0, 1.5)
        return weight / weight.sum()

    def detection(self, strength_dB):
        return np.asarray(strength_dB)

    def hear(self, rng, strength_dB):
        return float(self.chance_excess_dB(rng, 1)[0]) if rng.random() < strength_dB else None

    def mark_pdf(self, excess_dB, strength_dB):
        return self.chance_mark_pdf(excess_dB) * np.ones(np.shape(strength_dB))

    def chance_excess_dB(self, rng, n):
        return 5.0 + rng.lognormal(math.log(7.0), 0.6, n)

    def chance_mark_pdf(self, excess_dB):
        return np.maximum(stats.lognorm.pdf(excess_dB, 0.6, 5.0, 7.0), 1e-6)

    def offset_s(self, rng, sigma_s):
        return float(rng.normal(0.0, 0.5 * sigma_s))

    def jitter_s(self, rng, sigma_s, n):
        return rng.laplace(0.0, 0.6 * sigma_s, n)

    def jitter_pdf(self, dt_s, sigma_s):
        # The offset and the scatter together: a Laplace density of the same variance.
        scale = sigma_s * math.sqrt(0.25 + 2 * 0.36) / math.sqrt(2)
        return np.exp(-np.abs(dt_s) / scale) / (2 * scale)

    def told_sigma_s(self, rng, sigma_s):
        return sigma_s * float(rng.uniform(0.8, 1.25))

    def chance_times(self, rng, count, length_s):
        clumps = rng.uniform(0.0, length_s, rng.poisson(count / 2.0))
        sizes = 1 + rng.binomial(5, 0.2, len(clumps))
        t = np.repeat(clumps, sizes) + rng.uniform(0.0, 3.0, sizes.sum())
        return t[t < length_s]

    def pull(self, rng, works, n):
        first = [mounting.impressions[0] for mounting in works.mountings]
        rest = rng.choice(np.arange(1, works.impressions + 1), max(n - len(first), 1), replace=False)
        return np.unique(np.concatenate([first, rest]))


MODELS = {model.name: model for model in (Logistic(), Threshold(), Clustered())}


# ---- the works -------------------------------------------------------------------------------------------------------

@dataclass
class Stamper:
    id: str
    mother: int
    grown: int
    closings: int
    impressions: np.ndarray = None               # [closings], the title's count, 1 for the first disc
    steps: list = field(default_factory=list)    # [(closing before which it was done, what)]


@dataclass
class Mounting:
    id: str
    stamper: int
    first: int                                   # closings of its stamper, both included
    last: int
    press: int
    impressions: np.ndarray = None


@dataclass
class Disc:
    id: str
    impression: int                              # the truth
    stamper: int
    mounting: int
    low: int                                     # what is known of the impression; 0, 0 for nothing
    high: int
    mounting_known: bool
    plays: list = field(default_factory=list)
    fetchable: bool = False


@dataclass
class Play:
    after: str
    sigma_s: float
    told_s: float
    heard: list
    times_s: np.ndarray
    excess_dB: np.ndarray
    kinds: np.ndarray                            # index into KINDS
    of: list                                     # which recurring fault each is, or None; truth only
    pattern: list                                # pattern number of each, or None


@dataclass
class Works:
    model: object
    seed: int
    length_s: float
    rpm: float
    chance: float                                # chance faults heard a play, on average
    pressed_share: float
    stampers: list
    mountings: list
    mothers: int
    impressions: int
    recurring_mean: float
    discs: list = field(default_factory=list)
    faults: list = field(default_factory=list)
    alone: list = field(default_factory=list)
    remarks: list = field(default_factory=list)
    stock: list = field(default_factory=list)
    spindle: int = 50
    carton: int = 25

    def siblings(self, mother):
        return [k for k, s in enumerate(self.stampers) if s.mother == mother]


def nodes_of(works):
    """Every node with the indices of the stampers it begot; a mounting with its own closings."""
    nodes = {("cut", "C1"): list(range(len(works.stampers))), ("father", "F1"): list(range(len(works.stampers)))}
    for m in range(works.mothers):
        nodes[("mother", f"M{m + 1}")] = works.siblings(m)
    for k, s in enumerate(works.stampers):
        nodes[("stamper", s.id)] = [k]
    return nodes


@dataclass
class Cause:
    """One cause of the prior. `stampers`: these, whole; else a span of one stamper's closings from `onset` to before `end`,
    each ("at", closing) or ("uniform", first, last): of an end, uniform after the onset up to `last`."""
    probability: float
    level: str
    node: str
    stampers: tuple = ()
    stamper: int = -1
    onset: tuple = ()
    end: tuple = ()
    how: str = ""


def hurt_between(children, born, level, node, share, groups):
    """Since birth, or between two children in the order they were grown: those after carry it."""
    whole = tuple(k for child in children for k in groups[child])
    if len(children) == 1:
        return [Cause(share, level, node, whole, how="birth")]
    out = [Cause(share * born, level, node, whole, how="birth")]
    for cut in range(1, len(children)):
        later = tuple(k for child in children[cut:] for k in groups[child])
        out.append(Cause(share * (1 - born) / (len(children) - 1), level, node, later, how="hurt"))
    return out


def causes(works):
    """The model's prior over all causes; probabilities sum to 1."""
    model, share = works.model, works.model.levels
    everything = tuple(range(len(works.stampers)))
    out = [Cause(share["cut"], "cut", "C1", everything, how="birth")]
    out += hurt_between(range(works.mothers), model.born, "father", "F1", share["father"],
                        {m: works.siblings(m) for m in range(works.mothers)})
    for m in range(works.mothers):
        out += hurt_between(works.siblings(m), model.born, "mother", f"M{m + 1}", share["mother"] / works.mothers,
                            {k: [k] for k in everything})
    for k, s in enumerate(works.stampers):
        out += stamper_causes(model, k, s, share["stamper"] / len(works.stampers))
    for m in works.mountings:
        out += mounting_causes(model, m, share["mounting"] / len(works.mountings))
    return out


def stamper_causes(model, k, s, share):
    at_step = model.at_step if s.steps else 0.0
    end_step = model.end_step if s.steps else 0.0
    onsets = [(model.born, ("at", 1), "birth"), ((1 - model.born) * (1 - at_step), ("uniform", 2, s.closings), "impression")]
    onsets += [((1 - model.born) * at_step / len(s.steps), ("at", c), "step") for c, _ in s.steps]
    ends = [(1 - end_step - model.end_free, ("at", s.closings + 1)), (model.end_free, ("uniform", s.closings))]
    ends += [(end_step / len(s.steps), ("at", c)) for c, _ in s.steps]
    return [Cause(share * p * q, "stamper", s.id, (), k, onset, end, how)
            for p, onset, how in onsets for q, end in ends if p * q > 0]


def mounting_causes(model, m, share):
    onsets = [(model.born, ("at", m.first), "birth")]
    if m.last > m.first:
        onsets.append((1 - model.born, ("uniform", m.first + 1, m.last), "impression"))
    ends = [(1 - model.end_free, ("at", m.last + 1)), (model.end_free, ("uniform", m.last))]
    whole = sum(p for p, _, _ in onsets)
    return [Cause(share * p * q / whole, "mounting", m.id, (), m.stamper, onset, end, how)
            for p, onset, how in onsets for q, end in ends]


def causes_as_written(works):
    """The prior of one who knows the model but no more of the steps than what is written: between two mountings of a stamper
    something was done half of the time, and some of it nobody noted."""
    model = works.model
    missed = STEP_SHARE * (1 - model.steps_noted)
    unnoted = missed / (missed + 1 - STEP_SHARE)
    out = [c for c in causes(works) if c.level != "stamper"]
    for k, (s, noted) in enumerate(zip(works.stampers, noted_steps(works))):
        known = {c for c, _ in noted}
        open_ones = [m.first for m in works.mountings if m.stamper == k and m.first > 1 and m.first not in known]
        merged = {}
        for done in range(2 ** len(open_ones)):
            these = [c for i, c in enumerate(open_ones) if done >> i & 1]
            weight = unnoted ** len(these) * (1 - unnoted) ** (len(open_ones) - len(these))
            if weight == 0:
                continue
            told = replace(s, steps=[(c, "") for c in sorted(known | set(these))])
            for c in stamper_causes(model, k, told, weight * model.levels["stamper"] / len(works.stampers)):
                key = (c.onset, c.end, c.how)
                merged[key] = replace(c, probability=c.probability + (merged[key].probability if key in merged else 0.0))
        out += merged.values()
    return out


def draw_cause(rng, works, prior):
    """A cause of the prior with its span drawn: (cause, {stamper: (first, before)})."""
    cause = prior[rng.choice(len(prior), p=[c.probability for c in prior])]
    if cause.stampers:
        return cause, {k: (1, works.stampers[k].closings + 1) for k in cause.stampers}
    begin = cause.onset[1] if cause.onset[0] == "at" else int(rng.integers(cause.onset[1], cause.onset[2] + 1))
    if cause.end[0] == "at":
        # A step that came before the onset ends nothing.
        before = cause.end[1] if cause.end[1] > begin else works.stampers[cause.stamper].closings + 1
    else:
        before = int(rng.integers(begin + 1, cause.end[1] + 2)) if begin < cause.end[1] + 1 else begin + 1
    return cause, {cause.stamper: (begin, before)}


def grow(rng, model):
    """Metal, mountings and the title's count of impressions."""
    mothers = int(rng.integers(1, 4))
    count = int(rng.integers(max(2, mothers), 13))
    owner = np.concatenate([np.arange(mothers), rng.integers(0, mothers, count - mothers)])
    rng.shuffle(owner)
    ordinal = {m: 0 for m in range(mothers)}
    stampers, mountings = [], []
    presses = int(rng.integers(1, 3))
    queues = [[] for _ in range(presses)]
    for k, m in enumerate(owner):
        ordinal[m] += 1
        s = Stamper(f"S{k + 1}", int(m), ordinal[m], model.life(rng))
        stampers.append(s)
        parts = int(rng.integers(1, 4))
        cuts = np.sort(rng.choice(np.arange(20, s.closings - 20), parts - 1, replace=False)) if parts > 1 else []
        edges = [0, *map(int, cuts), s.closings]
        press = int(rng.integers(presses))
        for a, b in zip(edges, edges[1:]):
            mountings.append(Mounting("", k, a + 1, b, press))
            queues[press].append(mountings[-1])
            if a and rng.random() < STEP_SHARE:
                s.steps.append((a + 1, str(rng.choice(["washed", "repaired", "faced again"]))))
    # A stamper may rest between two mountings: swap neighbours of different stampers now and then.
    for queue in queues:
        for i in range(len(queue) - 2):
            if queue[i + 1].stamper != queue[i].stamper and queue[i + 2].stamper == queue[i].stamper:
                continue
            if queue[i + 1].stamper == queue[i].stamper and queue[i + 2].stamper != queue[i].stamper and rng.random() < 0.3:
                queue[i + 1], queue[i + 2] = queue[i + 2], queue[i + 1]
    count_impressions(queues, stampers)
    ordered = sorted((m for queue in queues for m in queue), key=lambda m: m.impressions[0])
    for i, m in enumerate(ordered):
        m.id = f"N{i + 1}"
    return stampers, ordered, mothers


def count_impressions(queues, stampers):
    """Numbers the closings of all presses in the order of time; each press closes once a turn of the clock."""
    at, who = [], []
    for p, queue in enumerate(queues):
        closings = sum(m.last - m.first + 1 for m in queue)
        at.append(np.arange(closings) + 0.5 * p)
        who += [m for m in queue]
    order = np.argsort(np.concatenate(at), kind="stable")
    number = np.empty(len(order), int)
    number[order] = np.arange(1, len(order) + 1)
    done = 0
    for m in who:
        n = m.last - m.first + 1
        m.impressions = number[done:done + n]
        done += n
    for k, s in enumerate(stampers):
        parts = sorted((m for m in who if m.stamper == k), key=lambda m: m.first)
        s.impressions = np.concatenate([m.impressions for m in parts])


def pull_discs(rng, works, n):
    model = works.model
    stamper_at, mounting_at = np.zeros(works.impressions + 1, int), np.zeros(works.impressions + 1, int)
    for i, m in enumerate(works.mountings):
        stamper_at[m.impressions] = m.stamper
        mounting_at[m.impressions] = i
    ranged = rng.uniform(*model.range_share)
    for i in np.sort(model.pull(rng, works, n)):
        i = int(i)
        disc = Disc(f"D{i:06d}", i, int(stamper_at[i]), int(mounting_at[i]), i, i, True)
        if rng.random() < ranged:
            # From a spindle or a carton; now and then nothing but the matrix number.
            width = int(rng.choice([works.carton, works.spindle]))
            disc.low = (i - 1) // width * width + 1
            disc.high = min(disc.low + width - 1, works.impressions)
            disc.mounting_known = bool(rng.random() < 0.5)
            if rng.random() < 0.04:
                disc.low = disc.high = 0
                disc.mounting_known = False
        works.discs.append(disc)


def heard_of(rng, model, length_s):
    heard = [[0.0, length_s]]
    if rng.random() < model.excerpt_share:
        size = rng.uniform(0.2, 0.6) * length_s
        begin = rng.uniform(0.0, length_s - size)
        heard = [[begin, begin + size]]
    if rng.random() < model.hole_share:
        begin, end = heard[0]
        size = min(rng.uniform(5.0, 20.0), 0.3 * (end - begin))
        hole = rng.uniform(begin, end - size)
        heard = [[begin, hole], [hole + size, end]]
    return [[round(a, 4), round(b, 4)] for a, b in heard]


def is_heard(heard, t_s):
    return any(a <= t_s <= b for a, b in heard)


def carries(works, fault, disc):
    span = fault["spans"].get(disc.stamper)
    if span is None:
        return False
    closing = int(np.searchsorted(works.stampers[disc.stamper].impressions, disc.impression)) + 1
    return span[0] <= closing < span[1]


def own_faults(rng, works):
    """Chance faults of one disc: (time, excess, kind, stays)."""
    model = works.model
    t = model.chance_times(rng, works.chance / CHANCE_HEARD, works.length_s)
    return [[x, e, k, bool(rng.random() < works.pressed_share)]
            for x, e, k in zip(t, model.chance_excess_dB(rng, len(t)), rng.choice(3, len(t), p=KIND_SHARE))]


def clean(rng, works, own, after):
    """What brushing or washing leaves, and the dust that settles anew."""
    takes = {"brushed": BRUSHED_TAKES, "washed": WASHED_TAKES}.get(after)
    if takes is None:
        return own
    left = [f for f in own if f[3] or rng.random() >= takes]
    fresh = [f for f in own_faults(rng, works) if not f[3] and rng.random() < NEW_DUST]
    return left + fresh


def play(rng, works, disc, own, after, heard=None):
    """One hearing of a disc."""
    model = works.model
    sigma_s = works.sigma_s * rng.uniform(0.7, 1.5)
    heard = heard if heard is not None else heard_of(rng, model, works.length_s)
    events = []
    for t, excess, kind, _ in own:
        if rng.random() < CHANCE_HEARD:
            events.append([t, excess + REPLAY_DB * rng.normal(), kind, None, None])
    for number, fault in enumerate(works.faults):
        if not carries(works, fault, disc):
            continue
        ticks = []
        for turn in range(fault["turns"]):
            excess = model.hear(rng, fault["strength"])
            if excess is not None:
                kind = fault["kind"] if rng.random() < model.same_kind else int(rng.choice(3, p=KIND_SHARE))
                ticks.append([fault["programme_s"] + turn * 60 / works.rpm, excess, kind, number, None])
        if len(ticks) > 1:
            for tick in ticks:
                tick[4] = number
        events += ticks
    for t, excess in disc_alone(works, disc):
        if rng.random() < 0.9:
            events.append([t, excess + REPLAY_DB * rng.normal(), 0, None, None])
    times = np.array([e[0] for e in events])
    times = times + model.offset_s(rng, sigma_s) + model.jitter_s(rng, sigma_s, len(times))
    keep = [i for i in np.argsort(times) if is_heard(heard, times[i])]
    return Play(after, sigma_s, model.told_sigma_s(rng, sigma_s), heard, times[keep],
                np.array([events[i][1] for i in keep]), np.array([events[i][2] for i in keep], int),
                [events[i][3] for i in keep], [events[i][4] for i in keep])


def disc_alone(works, disc):
    return [(a["programme_s"], a["excess"]) for a in works.alone if a["disc"] == disc.id]


def plant(rng, works, count):
    prior = causes(works)
    places = []
    while len(places) < count:
        t = float(rng.uniform(2.0, works.length_s - 20.0))
        if all(abs(t - other) > SEPARATION_S for other in places):
            places.append(t)
    for number, t in enumerate(places):
        cause, spans = draw_cause(rng, works, prior)
        add_fault(works, cause, spans, t, works.model.strength_dB(rng), int(rng.choice(3, p=KIND_SHARE)),
                  int(rng.integers(4, 9)) if rng.random() < works.model.scratch else 1)


def add_fault(works, cause, spans, programme_s, strength, kind, turns):
    first = min(int(works.stampers[k].impressions[a - 1]) for k, (a, _) in spans.items())
    last = max(int(works.stampers[k].impressions[b - 2]) for k, (_, b) in spans.items())
    works.faults.append({"id": len(works.faults), "programme_s": programme_s, "turns": turns, "kind": kind, "level": cause.level,
                         "node": cause.node, "how": cause.how, "onset": first, "last": last, "strength": strength,
                         "spans": spans})


def hear_all(rng, works):
    for disc in works.discs:
        own = own_faults(rng, works)
        disc.plays.append(play(rng, works, disc, own, "as found"))
        if rng.random() < works.model.replay_share:
            for _ in range(int(rng.integers(1, 3))):
                after = str(rng.choice(["brushed", "washed", "reseated"]))
                own = clean(rng, works, own, after)
                disc.plays.append(play(rng, works, disc, own, after))


def remark_all(rng, works):
    for _ in range(int(rng.integers(0, 7))):
        disc = works.discs[rng.integers(len(works.discs))]
        carried = [f for f in works.faults if carries(works, f, disc)]
        within = float(rng.choice([1.0, 2.0, 5.0]))
        true = bool(carried) and rng.random() < REMARK_TRUE
        t = carried[rng.integers(len(carried))]["programme_s"] if true else rng.uniform(0.0, works.length_s)
        t = float(np.clip(t + rng.normal(0.0, 0.5 * within), 0.0, works.length_s))
        works.remarks.append({"disc": disc.id, "side": "A", "programme_s": round(t, 1), "within_s": within, "words": "tick",
                              "from": str(rng.choice(["listener", "customer"]))})


def make(model_name, seed, small=False):
    """One works of a model, wholly fixed by its seed."""
    model = MODELS[model_name]
    rng = np.random.default_rng([seed, sorted(MODELS).index(model_name)])
    stampers, mountings, mothers = grow(rng, model)
    works = Works(model, seed, float(round(rng.uniform(180.0, 1400.0), 1)), float(rng.choice([100 / 3, 45.0, 78.26])),
                  model.chance_count(rng), float(rng.uniform(0.4, 0.8)), stampers, mountings, mothers,
                  sum(s.closings for s in stampers), 3.0)
    works.sigma_s = model.sigma_s(rng)
    n = int(np.exp(rng.uniform(np.log(20), np.log(80 if small else 400))))
    pull_discs(rng, works, min(n, works.impressions // 4))
    plant(rng, works, int(rng.poisson(works.recurring_mean)))
    for _ in range(int(rng.poisson(1.0))):
        disc = works.discs[rng.integers(len(works.discs))]
        works.alone.append({"disc": disc.id, "programme_s": float(rng.uniform(2.0, works.length_s - 2.0)),
                            "excess": float(model.chance_excess_dB(rng, 1)[0] + 4.0)})
    hear_all(rng, works)
    remark_all(rng, works)
    for low in range(1, works.impressions + 1, works.carton):
        works.stock.append({"carton": f"K{low // works.carton + 1}",
                            "impressions": [low, min(low + works.carton - 1, works.impressions)],
                            "fetchable": bool(rng.random() < 0.6)})
    return works


def make_search(model_name, seed, listed=True, known=None):
    """A works for the search of an onset: 3 stampers of 1,000 closings on one press, 4 to 8 discs of each heard, one fault
    that one stamper took at an impression. Every disc can still be fetched: listed one by one (`listed`), or known by cartons
    of 10. The seed moves on until the fault was heard on 2 discs at least and `known(works)` holds, as nobody searches for
    what cannot be told from chance yet."""
    model = MODELS[model_name]
    for attempt in range(1000):
        rng = np.random.default_rng([seed, attempt, 77])
        stampers = [Stamper(f"S{k + 1}", 0, k + 1, 1000) for k in range(3)]
        mountings = [Mounting(f"N{k + 1}", k, 1, 1000, 0) for k in range(3)]
        count_impressions([mountings], stampers)
        works = Works(model, seed, 300.0, 100 / 3, min(model.chance_count(rng), 15.0), 0.6, stampers, mountings, 1, 3000, 1.0)
        works.sigma_s, works.carton = model.sigma_s(rng), 10
        every = int(rng.integers(125, 251))
        for i in range(int(rng.integers(1, every)), 3001, every):
            works.discs.append(Disc(f"D{i:06d}", i, (i - 1) // 1000, (i - 1) // 1000, i, i, True))
        k, begin = int(rng.integers(3)), int(rng.integers(2, 1001))
        cause = Cause(1.0, "stamper", stampers[k].id, (), k, ("uniform", 2, 1000), ("at", 1001), "impression")
        add_fault(works, cause, {k: (begin, 1001)}, float(rng.uniform(5.0, 280.0)), model.strength_dB(rng),
                  int(rng.choice(3, p=KIND_SHARE)), 1)
        for disc in works.discs:
            disc.plays.append(play(rng, works, disc, own_faults(rng, works), "as found", [[0.0, works.length_s]]))
        if sum(0 in disc.plays[0].of for disc in works.discs) >= 2 and (known is None or known(works)):
            break
    heard = {disc.impression for disc in works.discs}
    works.listed = listed
    works.shelf = [i for i in range(1, 3001) if i not in heard] if listed else []
    for low in range(1, 3001, works.carton):
        works.stock.append({"carton": f"K{low // works.carton + 1}", "impressions": [low, low + works.carton - 1],
                            "fetchable": not listed})
    works.rng = np.random.default_rng([seed, 78])
    return works


# ---- writing ---------------------------------------------------------------------------------------------------------

REPORT = ('{"schema":"goodside.listen/1","capture":{"path":"%s.wav","sample_rate_Hz":96000.0,"channels":2,"duration_s":%.4f,'
          '"sha256":"%s"},"reference":{"path":"cut.wav","sample_rate_Hz":96000.0,"channels":2,"duration_s":%.4f,"sha256":"%s",'
          '"kind":"file"},"heard":%s,"geometry":{"format":"12in-33","rpm":%.6f,"outer_radius_m":0.1463,"inner_radius_m":0.0603,'
          '"pitch_m":0.0001},"alignment":{"found":true,"programme_start_s":1.0,"programme_end_s":%.4f,"programme_sigma_s":%.7f,'
          '"speed_error_ppm":0.0,"drive_error_ppm":0.0,"gain_dB":0.0,"polarity":1,"channels":"as cut","confidence":0.99},'
          '"wow":{"eccentricity_m":0.0001,"eccentricity_sigma_m":1e-05,"eccentricity_direction_deg":90.0,'
          '"once_per_rev_peak":{"outer":0.0007,"inner":0.0016},"weighted_2sigma":0.001,"curve":{"time_s":[],"deviation":[]}},'
          '"levels":{"third_octave":[],"balance_dB":0.0,"separation_dB":25.0,"high_loss_dB_per_m":0.0},"faults":[%s],'
          '"patterns":[%s],"noise":{"weighted_dB":-60.0,"rumble_dB":-50.0,"hum_dB":-70.0,"polar":null,"echo":null},'
          '"verdict":{"pass":true,"limits":"none","reasons":[]},"masked":{"count":0},"undetermined":[]}')
FAULT = ('{"id":%d,"kind":"%s","capture_s":%.7f,"programme_s":%.7f,"revolution":%d,"angle_deg":%.3f,"angle_sigma_deg":%.3f,'
         '"radius_m":%.6f,"radius_sigma_m":0.0002,"duration_s":0.001,"peak_dB":-20.0,"excess_dB":%.2f,"channel":"both",'
         '"plane":"lateral","audibility":"%s","pattern":%s}')


def report_text(works, name, one):
    turns = one.times_s * works.rpm / 60
    radius = 0.1463 - (0.1463 - 0.0603) * one.times_s / works.length_s
    sigma_deg = one.told_s * works.rpm * 6
    numbers = {p: i + 1 for i, p in enumerate(sorted({p for p in one.pattern if p is not None}))}
    faults = [FAULT % (i + 1, KINDS[k], 1.0 + t, t, math.floor(turn), 360 * (turn % 1.0), sigma_deg, r, e,
                       "plain" if e > 12 else "slight", "null" if p is None else numbers[p])
              for i, (t, turn, r, e, k, p) in enumerate(zip(one.times_s, turns, radius, one.excess_dB, one.kinds, one.pattern))]
    patterns = []
    for p, number in numbers.items():
        inside = [i for i, q in enumerate(one.pattern) if q == p]
        patterns.append('{"id":%d,"kind":"radial","faults":%s,"first_revolution":%d,"last_revolution":%d,"angle_deg":%.3f,'
                        '"angle_span_deg":2.0}' % (number, json.dumps([i + 1 for i in inside]), math.floor(turns[inside[0]]),
                                                   math.floor(turns[inside[-1]]), 360 * (turns[inside[0]] % 1.0)))
    return REPORT % (name, works.length_s + 3, "a" * 64, works.length_s, "b" * 64, json.dumps(one.heard), works.rpm,
                     1.0 + works.length_s, one.told_s, ",".join(faults), ",".join(patterns))


def noted_steps(works):
    """Of each stamper, the steps that somebody wrote down."""
    rng = np.random.default_rng([works.seed, 5])
    return [[step for step in s.steps if rng.random() < works.model.steps_noted] for s in works.stampers]


def family_of(works):
    parts = [{"id": "C1", "kind": "cut", "parent": None, "grown": 1}, {"id": "F1", "kind": "father", "parent": "C1", "grown": 1}]
    parts += [{"id": f"M{m + 1}", "kind": "mother", "parent": "F1", "grown": m + 1} for m in range(works.mothers)]
    parts += [{"id": s.id, "kind": "stamper", "parent": f"M{s.mother + 1}", "grown": s.grown} for s in works.stampers]
    discs = [disc_entry(works, disc) for disc in works.discs]
    for i in getattr(works, "shelf", []):
        k = (i - 1) // 1000
        discs.append(disc_entry(works, Disc(f"D{i:06d}", i, k, k, i, i, True, fetchable=True)))
    steps = [{"mounting": m.id, "impression": int(m.impressions[0]), "what": "mounted"} for m in works.mountings]
    steps += [{"part": s.id, "impression": int(s.impressions[c - 1]), "what": what}
              for s, noted in zip(works.stampers, noted_steps(works)) for c, what in noted]
    reports = [{"disc": disc.id, "side": "A", "play": p + 1, "after": one.after, "file": f"{disc.id}-{p + 1}.json"}
               for disc in works.discs for p, one in enumerate(disc.plays)]
    return {"schema": "goodside.family/1", "parts": parts, "discs": discs, "stock": works.stock, "steps": steps,
            "reports": reports, "remarks": works.remarks}


def disc_entry(works, disc):
    m = works.mountings[disc.mounting]
    known = None if disc.low == 0 else disc.low if disc.low == disc.high else [disc.low, disc.high]
    exact = disc.low == disc.high > 0
    return {"id": disc.id, "stamper": {"A": works.stampers[disc.stamper].id, "B": None},
            "mounting": m.id if disc.mounting_known else None, "impression": known,
            "press": f"P{m.press + 1}" if disc.mounting_known else None,
            "batch": f"B{disc.low // 500 + 1}" if exact else None,
            "spindle": f"T{(disc.low - 1) // works.spindle + 1}" if exact else None, "carton": None, "fetchable": disc.fetchable}


def truth_of(works, small=False):
    """What the judge knows. `same`: the nodes that touched the same heard discs since birth as the true one."""
    touched = {}
    for (level, node), stampers in nodes_of(works).items():
        touched[node] = frozenset(d.id for d in works.discs if d.stamper in stampers)
    for i, m in enumerate(works.mountings):
        touched[m.id] = frozenset(d.id for d in works.discs if d.mounting == i)
    faults = []
    for number, f in enumerate(works.faults):
        carrying = [d for d in works.discs if carries(works, f, d)]
        reported = [d.id for d in carrying if any(number in one.of for one in d.plays)]
        # Since birth: no hearing tells apart any onset between the first closing and the first disc heard.
        last_possible = f["onset"]
        if f["how"] != "impression" and carrying:
            last_possible = min(d.impression for d in carrying)
        faults.append({**{k: v for k, v in f.items() if k != "spans"}, "detection": float(works.model.detection(f["strength"])),
                       "spans": {works.stampers[k].id: list(v) for k, v in f["spans"].items()},
                       "onset_low": f["onset"], "onset_high": last_possible, "carrying": [d.id for d in carrying],
                       "reported": reported, "counts": len(reported) >= 3,
                       "same": [n for n, discs in touched.items() if discs == touched[f["node"]]]})
    return {"model": works.model.name, "seed": works.seed, "small": small, "length_s": works.length_s, "rpm": works.rpm,
            "chance": works.chance, "sigma_s": works.sigma_s, "heard": len(works.discs), "impressions": works.impressions,
            "touched": {n: sorted(discs) for n, discs in touched.items()}, "faults": faults, "alone": works.alone}


def write(works, folder, small=False):
    folder = pathlib.Path(folder)
    (folder / "reports").mkdir(parents=True, exist_ok=True)
    (folder / "family.json").write_text(json.dumps(family_of(works)))
    (folder / "truth.json").write_text(json.dumps(truth_of(works, small)))
    for disc in works.discs:
        for p, one in enumerate(disc.plays):
            name = f"{disc.id}-{p + 1}"
            (folder / "reports" / f"{name}.json").write_text(report_text(works, name, one))


def write_seed(job):
    folder, model, seed, small = job
    works = make(model, seed, small)
    write(works, pathlib.Path(folder) / f"{model}-{seed:05d}", small)
    return len(works.faults), sum(len(d.plays) for d in works.discs)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", required=True)
    parser.add_argument("--model", choices=sorted(MODELS), default="logistic")
    parser.add_argument("--works", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0, help="number of the first works")
    parser.add_argument("--jobs", type=int, default=multiprocessing.cpu_count())
    parser.add_argument("--small", action="store_true", help="at most 80 discs a works")
    args = parser.parse_args()
    began = time.perf_counter()
    jobs = [(args.out, args.model, args.seed + i, args.small) for i in range(args.works)]
    with multiprocessing.Pool(args.jobs) as pool:
        counts = pool.map(write_seed, jobs, chunksize=4)
    print(f"{args.works} works of model {args.model}: {sum(c[0] for c in counts)} recurring faults, "
          f"{sum(c[1] for c in counts)} reports, {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()

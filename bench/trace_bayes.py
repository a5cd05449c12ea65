"""The two yardsticks beside `goodside trace`: exact Bayes that is told the true model, and a spreadsheet's majority rule.

Both answer in the fields of goodside.trace/1 that the score reads: recurring [{programme_s, on, cause {level, id, posterior,
onset {low, high, best}}, alternatives}].

Exact Bayes
  A play that hears place t of a disc that carries the fault has, against chance alone, the likelihood ratio
      (1 - d) + d * sum_k N(t_k - t; sigma) f(x_k) k(kind_k) / (lambda(t) g(x_k) p(kind_k)):
  a Bernoulli point laid over a Poisson process; d the detection at the fault's strength, N the model's jitter, f and g its
  marks, lambda its chance density. Strength and kind are summed over their priors, t by Laplace's rule round its peak.
  A disc's own fault that several of its plays repeat is weighed as the alternative to chance on that disc.
  Every cause of the prior is enumerated (trace_works.causes): onsets between every two discs heard, ends of themselves over
  at most 24 edges a stamper, a disc known only as a range by the share of its range that carries (in quarters).
  The odds of a place are the prior's rate of recurring faults times that sum; places are taken from 9 to 1, as a false
  family costs more than one that waits for its next disc.
  Known shortfalls, all small: a remark counts as if one fault more could have called for it; clumps of chance faults
  (model clustered) are taken as Poisson at their mean rate; scratches are weighed by their best single tick. It is told the
  steps that nobody noted, which nobody can know; "as written" knows the model but of the steps only what is written.

Majority rule
  Times sorted; faults no further apart than 3 sigma (at least 5 ms) make a group; a group on 3 discs or more recurs. Its cause is
  the lowest node (mounting, stamper, mother, father) that holds 80 % of its discs; `sure` where it holds all of them
  and half of its own heard discs carry the fault. Its onset runs from the disc before the first to the first.
"""
import numpy as np

from trace_works import CHANCE_HEARD, KIND_SHARE, REMARK_TRUE, REPLAY_DB, causes

FREE_END_EDGES = 24
LEAST_LOG_ODDS = np.log(9.0)
SCORE_FLOOR = 5.0
MOST_PLACES = 80


class Hypotheses:
    """Every cause x onset x end of a works as rows: log prior, node, share of each disc that carries, onset impressions."""

    def __init__(self, works, prior=None):
        """`prior`: causes to weigh instead of the model's."""
        self.works = works
        discs = works.discs
        self.low = np.ones(len(discs), int)
        self.high = np.ones(len(discs), int)
        self.stamper = np.array([d.stamper for d in discs])
        for i, d in enumerate(discs):
            self.low[i], self.high[i] = closings_of(works, d)
        self.rows = []       # (prior, level, node, the impressions that may be its first)
        self.carried = []    # [(stamper, first closing, closing before which it ends)] of each row; real, mid-group
        shares = []
        for cause in causes(works) if prior is None else prior:
            if cause.stampers:
                inside = np.isin(self.stamper, cause.stampers).astype(np.float32)
                first = min(int(works.stampers[k].impressions[0]) for k in cause.stampers)
                whole = [(k, 1, works.stampers[k].closings + 1) for k in cause.stampers]
                self.add(shares, cause, cause.probability, inside, np.array([first]), whole)
            else:
                self.spans(shares, cause)
        self.log_prior = np.log([row[0] for row in self.rows])
        self.share = np.array(shares, np.float32)
        exact = self.low == self.high
        self.exact, self.ranged = np.flatnonzero(exact), np.flatnonzero(~exact)
        quarter = np.rint(4 * self.share[:, self.ranged]).astype(int)
        self.design = np.concatenate([self.share[:, self.exact]] +
                                     [(quarter == q).astype(np.float32) for q in (1, 2, 3, 4)], axis=1)

    def add(self, shares, cause, probability, share, impressions, carried):
        if probability > 0:
            self.rows.append((probability, cause.level, cause.node, impressions))
            self.carried.append(carried)
            shares.append(share)

    def share_of(self, k, begin, before):
        """Share of each disc's possible closings in [begin, before), `begin` and `before` real."""
        mine = self.stamper == k
        size = self.high - self.low + 1
        overlap = np.minimum(self.high + 1, before) - np.maximum(self.low, begin)
        return np.where(mine, np.clip(overlap / size, 0.0, 1.0), 0.0).astype(np.float32)

    def groups(self, k, first, last, most=None):
        """The closings first..last in groups that no exactly known disc divides."""
        mine = self.stamper == k
        edges = np.unique(np.concatenate([[first - 1, last], self.low[mine], self.high[mine]]))
        edges = edges[(edges >= first - 1) & (edges <= last)]
        if most is not None and len(edges) > most:
            edges = np.unique(edges[np.linspace(0, len(edges) - 1, most).round().astype(int)])
        return [(a + 1, b) for a, b in zip(edges, edges[1:])]

    def spans(self, shares, cause):
        s = self.works.stampers[cause.stamper]
        at = cause.onset[0] == "at"
        free = cause.end[0] == "uniform"
        onsets = [(cause.onset[1], cause.onset[1])] if at else self.groups(
            cause.stamper, cause.onset[1], cause.onset[2], FREE_END_EDGES if free else None)
        total = 1 if at else cause.onset[2] - cause.onset[1] + 1
        for a, b in onsets:
            p = cause.probability * (b - a + 1) / total
            begin = 0.5 * (a + b)
            impressions = s.impressions[a - 1:b]
            if not free:
                before = cause.end[1] if cause.end[1] > begin else s.closings + 1
                self.add(shares, cause, p, self.share_of(cause.stamper, begin, before), impressions,
                         [(cause.stamper, begin, before)])
                continue
            # The last closing that carries, uniform from the onset on.
            ends = self.groups(cause.stamper, int(np.ceil(begin)), cause.end[1], FREE_END_EDGES)
            left = max(cause.end[1] - int(np.ceil(begin)) + 1, 1)
            for c, d in ends:
                before = max(0.5 * (c + d) + 1.0, begin + 1.0)
                self.add(shares, cause, p * (d - c + 1) / left, self.share_of(cause.stamper, begin, before), impressions,
                         [(cause.stamper, begin, before)])

    def log_likelihood(self, ratio_log):
        """[rows, combinations] from the discs' log ratios [discs, combinations]."""
        ratio_log = np.maximum(ratio_log, -60.0)
        columns = [ratio_log[self.exact]]
        ratio = np.exp(np.minimum(ratio_log[self.ranged], 60.0))
        columns += [np.log(0.25 * q * ratio + (1.0 - 0.25 * q)) for q in (1, 2, 3, 4)]
        return self.design @ np.concatenate(columns).astype(np.float32)


def closings_of(works, disc):
    """The closings of its stamper that a disc may be, both ends included, from what is known of it."""
    s = works.stampers[disc.stamper]
    first, last = 1, s.closings
    if disc.mounting_known:
        m = works.mountings[disc.mounting]
        first, last = m.first, m.last
    if disc.low:
        inside = np.flatnonzero((s.impressions >= disc.low) & (s.impressions <= disc.high)) + 1
        first, last = max(first, int(inside.min())), min(last, int(inside.max()))
    return first, last


class Evidence:
    """All reported faults of a works, sorted, and the plays they come from."""

    def __init__(self, works):
        self.works, self.model = works, works.model
        plays = [(i, p) for i, d in enumerate(works.discs) for p in d.plays]
        self.disc = np.array([i for i, _ in plays])
        self.sigma_s = np.array([p.sigma_s for _, p in plays])
        self.heard = [p.heard for _, p in plays]
        self.replayed = np.bincount(self.disc, minlength=len(works.discs)) > 1
        self.t = np.concatenate([p.times_s for _, p in plays]) if plays else np.zeros(0)
        self.play = np.concatenate([np.full(len(p.times_s), j) for j, (_, p) in enumerate(plays)]).astype(int)
        self.excess = np.concatenate([p.excess_dB for _, p in plays])
        self.kind = np.concatenate([p.kinds for _, p in plays]).astype(int)
        order = np.argsort(self.t, kind="stable")
        self.t, self.play, self.excess, self.kind = (x[order] for x in (self.t, self.play, self.excess, self.kind))
        self.remarks = [(r, next(i for i, d in enumerate(works.discs) if d.id == r["disc"])) for r in works.remarks]
        grid = self.model.grid_dB
        self.detection = np.asarray(self.model.detection(grid))
        self.log_weight = (np.log(self.model.grid_weight())[:, None] + np.log(KIND_SHARE)[None, :]).ravel()

    def chance(self, t_s):
        """Chance faults a second a play."""
        return max(self.works.chance, 1e-3) * self.model.chance_shape(t_s, self.works.length_s)

    def places(self):
        """Where several discs have a fault: kernel score of each event, best first, none within 4 sigma of a better one."""
        if len(self.t) == 0:
            return []
        sigma = self.sigma_s[self.play]
        widest = 5.0 * sigma.max()
        score = np.zeros(len(self.t))
        rate = self.chance(self.t)
        for shift in range(1, len(self.t)):
            gap = self.t[shift:] - self.t[:-shift]
            if gap.min() > widest:
                break
            other = self.disc[self.play[shift:]] != self.disc[self.play[:-shift]]
            near = np.flatnonzero((gap < widest) & other)
            if len(near) == 0:
                continue
            both = np.sqrt(sigma[near + shift] ** 2 + sigma[near] ** 2)
            gain = np.log1p(0.8 * self.model.jitter_pdf(gap[near], both) / rate[near])
            np.add.at(score, near, gain)
            np.add.at(score, near + shift, gain)
        found = []
        for e in np.argsort(-score):
            if score[e] < SCORE_FLOOR or len(found) >= MOST_PLACES:
                break
            if all(abs(self.t[e] - f) > 4.0 * sigma[e] for f in found):
                found.append(self.t[e])
        return [self.centre(t) for t in found]

    def near(self, t_s):
        reach = 8.0 * self.sigma_s.max()
        return np.arange(np.searchsorted(self.t, t_s - reach), np.searchsorted(self.t, t_s + reach))

    def centre(self, t_s):
        """The peak of the place's likelihood, by weighing each event against chance."""
        for _ in range(6):
            near = self.near(t_s)
            sigma = self.sigma_s[self.play[near]]
            density = self.model.jitter_pdf(self.t[near] - t_s, sigma)
            weight = density / (density + self.chance(t_s)) / sigma ** 2
            if weight.sum() <= 0:
                break
            t_s = float((weight * self.t[near]).sum() / weight.sum())
        return t_s

    def log_ratios(self, t_s):
        """[discs, strength x kind] log likelihood ratio that the disc carries a fault at t, and the sigma of t."""
        model, grid = self.model, self.model.grid_dB
        rate = float(self.chance(t_s))
        near = self.near(t_s)
        strengths, kinds = len(grid), len(KIND_SHARE)
        points = np.zeros((len(self.disc), strengths, kinds))
        times = model.jitter_pdf(self.t[near] - t_s, self.sigma_s[self.play[near]]) / rate
        marks = model.mark_pdf(self.excess[near][:, None], grid[None, :]) / model.chance_mark_pdf(self.excess[near])[:, None]
        same = model.same_kind * (self.kind[near][:, None] == np.arange(kinds)[None, :]) / KIND_SHARE[self.kind[near]][:, None]
        same = same + (1 - model.same_kind)
        np.add.at(points, self.play[near], times[:, None, None] * marks[:, :, None] * same[:, None, :])
        listening = np.array([any(a <= t_s <= b for a, b in heard) for heard in self.heard])
        d = self.detection[None, :, None]
        ratio = np.where(listening[:, None, None], np.log((1 - d) + d * points), 0.0)
        out = np.zeros((len(self.works.discs), strengths, kinds))
        np.add.at(out, self.disc, ratio)
        out = out.reshape(len(out), -1)
        self.weigh_own(out, t_s, near, listening)
        for remark, i in self.remarks:
            dt, w = remark["programme_s"] - t_s, 0.5 * remark["within_s"]
            there = np.exp(-0.5 * (dt / w) ** 2) / (w * np.sqrt(2 * np.pi)) * self.works.length_s
            out[i] += np.log((1 - REMARK_TRUE) + REMARK_TRUE * (0.5 + 0.5 * there))
        hits = times > 1.0
        information = (1.0 / self.sigma_s[self.play[near]][hits] ** 2).sum()
        return out, 1.0 / np.sqrt(max(information, 1.0 / self.sigma_s.max() ** 2))

    def weigh_own(self, out, t_s, near, listening):
        """A replayed disc may have a fault of its own there: the null is then better than a chance fault a play."""
        for i in np.unique(self.disc[self.play[near]]):
            if not self.replayed[i]:
                continue
            mine = np.flatnonzero((self.disc == i) & listening)
            hits = [e for j in mine for e in near[self.play[near] == j][:1]]
            if len(hits) < 2:
                continue
            out[i] -= np.logaddexp(0.0, self.log_own(t_s, mine, np.array(hits)))

    def log_own(self, t_s, mine, hits):
        """Log ratio of one fault of the disc's own behind the hits, against as many chance faults."""
        m, sigma = len(hits), self.sigma_s[self.play[hits]]
        weight = 1.0 / sigma ** 2
        mean_s = (weight * self.t[hits]).sum() / weight.sum()
        rate = float(self.chance(t_s))
        times = np.log(self.model.jitter_pdf(self.t[hits] - mean_s, sigma) / rate).sum() \
            + 0.5 * np.log(2 * np.pi / weight.sum()) + np.log(rate * self.works.pressed_share / CHANCE_HEARD)
        heard = m * np.log(CHANCE_HEARD) + (len(mine) - m) * np.log(1 - CHANCE_HEARD)
        x = self.excess[hits]
        marks = np.log(self.model.chance_mark_pdf(np.array([x.mean()]))[0]) \
            - np.log(self.model.chance_mark_pdf(x)).sum() - 0.5 * ((x - x.mean()) ** 2).sum() / REPLAY_DB ** 2 \
            - (m - 1) * np.log(np.sqrt(2 * np.pi) * REPLAY_DB) - 0.5 * np.log(m)
        kinds = self.kind[hits]
        alike = -np.log(KIND_SHARE[kinds[1:]]).sum() if len(set(kinds)) == 1 else -np.inf
        return times + heard + marks + alike


def log_sum(x, axis=None):
    top = np.max(x, axis=axis, keepdims=True)
    total = np.log(np.exp(x - top).sum(axis=axis, keepdims=True)) + top
    return np.squeeze(total, axis=axis) if axis is not None else float(total.squeeze())


def weigh(hypotheses, evidence, t_s):
    """(log odds of a recurring fault at t against chance, posterior over the rows, weights of the combinations)."""
    ratios, sigma_t = evidence.log_ratios(t_s)
    likelihood = hypotheses.log_likelihood(ratios) + evidence.log_weight[None, :]
    joint = hypotheses.log_prior[:, None] + likelihood
    total = log_sum(joint)
    works = evidence.works
    odds = total + np.log(works.recurring_mean / works.length_s * np.sqrt(2 * np.pi) * sigma_t)
    return odds, np.exp(log_sum(joint, axis=1) - total), np.exp(log_sum(joint, axis=0) - total), ratios


def onset_of(hypotheses, posterior, impressions):
    """Mass over the title's impressions; its 5 %, 50 % and 95 % points."""
    mass = onset_mass(hypotheses, posterior, impressions)
    cumulated = np.cumsum(mass)
    low, best, high = (int(np.searchsorted(cumulated, q * cumulated[-1])) for q in (0.05, 0.5, 0.95))
    return {"low": low, "high": high, "best": best}


def onset_mass(hypotheses, posterior, impressions):
    mass = np.zeros(impressions + 1)
    for p, row in zip(posterior, hypotheses.rows):
        if p > 1e-9:
            mass[row[3]] += p / len(row[3])
    return mass


def entry_of(works, hypotheses, evidence, t_s, odds, posterior):
    nodes = {}
    for p, (_, level, node, _) in zip(posterior, hypotheses.rows):
        nodes[(level, node)] = nodes.get((level, node), 0.0) + float(p)
    ranked = sorted(({"level": k[0], "id": k[1], "posterior": v} for k, v in nodes.items()), key=lambda c: -c["posterior"])
    near = evidence.near(t_s)
    close = np.abs(evidence.t[near] - t_s) < 4.0 * evidence.sigma_s[evidence.play[near]]
    on = sorted({works.discs[evidence.disc[evidence.play[e]]].id for e in near[close]})
    return {"programme_s": t_s, "on": on, "log_odds": float(odds), "alternatives": ranked[1:],
            "cause": {**ranked[0], "onset": onset_of(hypotheses, posterior, works.impressions)}}


def exact_bayes(works, prior=None):
    """Every place where a recurring fault is as likely as 9 to 1. `prior`: causes to weigh instead of the model's."""
    if not works.discs:
        return []
    evidence, hypotheses = Evidence(works), Hypotheses(works, prior)
    out = []
    for t_s in evidence.places():
        odds, posterior, _, _ = weigh(hypotheses, evidence, t_s)
        if odds <= LEAST_LOG_ODDS:
            continue
        entry = entry_of(works, hypotheses, evidence, t_s, odds, posterior)
        if len(entry["on"]) >= 2:
            out.append(entry)
    out.sort(key=lambda e: -e["log_odds"])
    kept = []
    for entry in out:
        if all(abs(entry["programme_s"] - other["programme_s"]) > 5.0 * works.sigma_s for other in kept):
            kept.append(entry)
    return kept


def majority_rule(works):
    events = sorted((float(t), d) for d in works.discs for p in d.plays for t in p.times_s)
    gap = max(0.005, 3.0 * works.sigma_s)
    groups, group = [], []
    for t, d in events:
        if group and t - group[-1][0] > gap:
            groups.append(group)
            group = []
        group.append((t, d))
    groups.append(group)
    out = []
    for group in groups:
        discs = {d.id: d for _, d in group}
        if len(discs) < 3:
            continue
        out.append({"programme_s": float(np.median([t for t, _ in group])), "on": sorted(discs),
                    "cause": majority_cause(works, list(discs.values())), "alternatives": []})
    return out


def majority_cause(works, discs):
    """The lowest node with 80 % of the discs."""
    for level, key, name in (("mounting", lambda d: d.mounting, lambda k: works.mountings[k].id),
                             ("stamper", lambda d: d.stamper, lambda k: works.stampers[k].id),
                             ("mother", lambda d: works.stampers[d.stamper].mother, lambda k: f"M{k + 1}"),
                             ("father", lambda d: 0, lambda k: "F1")):
        keys = [key(d) for d in discs]
        most = max(set(keys), key=keys.count)
        if keys.count(most) >= 0.8 * len(keys):
            break
    mine = sorted((d for d in works.discs if key(d) == most), key=lambda d: d.impression)
    sure = keys.count(most) == len(keys) and len(discs) >= 0.5 * len(mine)
    carrying = {d.id for d in discs}
    first = min((d.impression for d in mine if d.id in carrying), default=1)
    before = max((d.impression for d in mine if d.impression < first), default=0)
    return {"level": level, "id": name(most), "posterior": 0.99 if sure else 0.5,
            "onset": {"low": before + 1, "high": first, "best": (before + first + 1) // 2}}

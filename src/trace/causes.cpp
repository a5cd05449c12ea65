#include "trace/causes.hpp"

#include <algorithm>
#include <set>

namespace goodside::trace {
namespace {

constexpr double credible_share = 0.9, worth_naming = 0.005, ceased = 0.9, almost_birth = 0.5;
constexpr std::size_t most_alternatives = 8;

/// Stampers under a cause, as numbers; for those below the stamper nothing.
void stampers_under(const FamilyIndex& index, int child, std::set<int>& out) {
  if (child < 0) {
    out.insert(-1 - child);
    return;
  }
  for (const int next : index.growers[static_cast<std::size_t>(child)].children)
    stampers_under(index, next, out);
}

std::set<int> stampers_of(const FamilyIndex& index, const Weighed& cause) {
  std::set<int> all;
  if (cause.level < Level::stamper) stampers_under(index, cause.number, all);
  if (cause.level == Level::stamper) all.insert(cause.number);
  return all;
}

/// The impressions of a mounting are those of its stamper where that was mounted once.
bool same_discs(const FamilyIndex& index, const Weighed& a, const Weighed& b) {
  if (a.level == Level::press || a.level == Level::batch || b.level == Level::press ||
      b.level == Level::batch)
    return false;
  const bool unit = a.level >= Level::stamper && b.level >= Level::stamper;
  if (unit) {
    const Unit& one = index.units[static_cast<std::size_t>(a.number)];
    const Unit& other = index.units[static_cast<std::size_t>(b.number)];
    return std::ranges::equal(one.members, other.members, {}, &Member::heard, &Member::heard);
  }
  if (a.level == Level::mounting || b.level == Level::mounting) {
    const Weighed& mounting = a.level == Level::mounting ? a : b;
    const Weighed& part = a.level == Level::mounting ? b : a;
    const auto stampers = stampers_of(index, part);
    if (stampers.size() != 1) return false;
    Weighed alone{.level = Level::stamper, .number = *stampers.begin()};
    return same_discs(index, mounting, alone);
  }
  return stampers_of(index, a) == stampers_of(index, b);
}

/// No hearing tells the two apart: a stamper and its only mounting whenever it began, parts that grow
/// others where it was there since birth.
bool alike(const FamilyIndex& index, const Weighed& a, const Weighed& b) {
  const bool units = a.level >= Level::stamper && b.level >= Level::stamper;
  return (units || (a.since_birth >= almost_birth && b.since_birth >= almost_birth)) &&
         same_discs(index, a, b);
}

std::string id_of(const FamilyIndex& index, const Weighed& cause) {
  return cause.level >= Level::stamper ? index.units[static_cast<std::size_t>(cause.number)].id
                                       : index.growers[static_cast<std::size_t>(cause.number)].id;
}

works::Cause cause_of(const FamilyIndex& index,
                      const Weighed& weighed,
                      const Touched& touched,
                      double real,
                      double scale) {
  works::Cause cause{.level = cause_level(weighed.level),
                     .id = id_of(index, weighed),
                     .posterior = real * weighed.posterior,
                     .onset = {},
                     .onset_grown = {},
                     .since_birth = weighed.since_birth,
                     .end = {},
                     .same_discs = {},
                     .posterior_with_same = real * weighed.posterior};
  if (const auto pieces = touched.onset_of(weighed); !pieces.empty())
    cause.onset = credible(pieces, credible_share, scale);
  if (weighed.level < Level::stamper && weighed.first_child.size() > 1) {
    std::vector<Piece> children;
    for (std::size_t c = 0; c < weighed.first_child.size(); ++c)
      children.push_back({static_cast<std::int64_t>(c) + 1,
                          static_cast<std::int64_t>(c) + 1,
                          weighed.first_child[c]});
    cause.onset_grown = credible(children, credible_share, 0.0);
  }
  if (weighed.ends > worth_naming)
    cause.end = works::CauseEnd{
        .probability = weighed.ends,
        .first_without = weighed.end.empty() ? works::CredibleImpressions{}
                                             : credible(weighed.end, credible_share, scale)};
  return cause;
}

}  // namespace

works::CauseLevel cause_level(Level level) {
  switch (level) {
    case Level::cut:
      return works::CauseLevel::cut;
    case Level::father:
      return works::CauseLevel::father;
    case Level::mother:
      return works::CauseLevel::mother;
    case Level::stamper:
      return works::CauseLevel::stamper;
    case Level::mounting:
      return works::CauseLevel::mounting;
    case Level::press:
      return works::CauseLevel::press;
    case Level::batch:
      return works::CauseLevel::batch;
  }
  return works::CauseLevel::disc;
}

void lead_with_likeliest(const FamilyIndex& index, Attribution& why) {
  std::size_t lead = 0;
  double most = -1.0;
  for (std::size_t i = 0; i < why.causes.size() && why.causes[i].posterior >= worth_naming; ++i) {
    double with_alike = why.causes[i].posterior;
    for (std::size_t j = 0; j < why.causes.size(); ++j)
      if (j != i && why.causes[j].posterior >= worth_naming &&
          alike(index, why.causes[i], why.causes[j]))
        with_alike += why.causes[j].posterior;
    if (with_alike <= most * (1.0 + 1e-9)) continue;
    most = with_alike;
    lead = i;
  }
  const auto first = why.causes.begin();
  std::rotate(first,
              first + static_cast<std::ptrdiff_t>(lead),
              first + static_cast<std::ptrdiff_t>(std::min(lead + 1, why.causes.size())));
}

void tell_causes(const FamilyIndex& index,
                 const Attribution& why,
                 const Touched& touched,
                 works::RecurringFault& fault) {
  const double scale = closings_of(index, why);
  for (std::size_t i = 0; i < why.causes.size(); ++i) {
    const Weighed& weighed = why.causes[i];
    if (i > 0 && (weighed.posterior < worth_naming || i > most_alternatives)) break;
    works::Cause cause = cause_of(index, weighed, touched, 1.0 - why.chance, scale);
    for (const Weighed& other : why.causes) {
      if (&other == &weighed || !alike(index, weighed, other)) continue;
      cause.same_discs.push_back(id_of(index, other));
      cause.posterior_with_same += (1.0 - why.chance) * other.posterior;
    }
    if (i == 0)
      fault.cause = std::move(cause);
    else
      fault.alternatives.push_back(std::move(cause));
  }
  if (fault.cause.onset) fault.cause.onset = credible(touched.onset(), credible_share, scale);
  if (why.chance > worth_naming) {
    works::Cause strangers;
    strangers.level = works::CauseLevel::disc;
    strangers.posterior = strangers.posterior_with_same = why.chance;
    fault.alternatives.push_back(std::move(strangers));
  }
  double ends = 0.0;
  for (const Weighed& cause : why.causes) ends += cause.posterior * cause.ends;
  fault.open = ends < ceased;
}

}  // namespace goodside::trace

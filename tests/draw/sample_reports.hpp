#pragma once
#include <cmath>
#include <cstdint>
#include <string>

#include "works/listening_report.hpp"

namespace goodside::draw::samples {

// Hand-made reports of invented sides, for tests alone.

inline works::Alignment laid_over(double speed_error_ppm) {
  works::Alignment alignment;
  alignment.found = true;
  alignment.speed_error_ppm = speed_error_ppm;
  alignment.confidence = 0.99;
  return alignment;
}

inline works::PolarMap noise_map(int rows, int columns) {
  works::PolarMap map;
  map.revolutions_per_row = 24.0;
  map.rows = rows;
  map.columns = columns;
  map.reference = "A-weighted noise from 1 to 8 kHz, re a full-scale sine of the reference";
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column)
      map.dB.push_back(-64.0 + 5.0 * std::sin(column * 0.1745 + 1.0) + 0.25 * row +
                       1.5 * std::sin(row * 12.9 + column * 78.2));
  return map;
}

inline works::ListeningReport clean_lp() {
  works::ListeningReport r;
  r.capture.path = "captures/clean.wav";
  r.capture.sample_rate_Hz = 96000.0;
  r.capture.channels = 2;
  r.capture.duration_s = 1210.0;
  r.reference.emplace();
  r.reference->file.path = "cut.wav";
  r.reference->file.duration_s = 1200.0;
  r.geometry.format = "12in-33";
  r.geometry.rpm = 100.0 / 3.0;
  r.geometry.outer_radius_m = 0.146;
  r.geometry.inner_radius_m = 0.066;
  r.geometry.pitch_m = 1.2e-4;
  r.heard = {{0.0, 1200.0}};
  r.alignment = laid_over(180.0);
  r.wow.eccentricity_m = 31e-6;
  r.wow.eccentricity_sigma_m = 4e-6;
  r.wow.eccentricity_direction_deg = 215.0;
  r.noise.weighted_dB = -62.3;
  r.noise.polar = noise_map(28, 36);
  r.verdict.pass = true;
  r.verdict.limits = "12in-33";
  return r;
}

inline works::FaultEvent fault(int id, works::FaultKind kind, double programme_s, double peak_dB) {
  const double turns = programme_s * (100.0 / 3.0) / 60.0;
  works::FaultEvent f;
  f.id = id;
  f.kind = kind;
  f.capture_s = programme_s + 4.2;
  f.programme_s = programme_s;
  f.revolution = static_cast<std::int64_t>(turns);
  f.angle_deg = 360.0 * (turns - std::floor(turns));
  f.radius_m = 0.146 - turns * 1.2e-4;
  f.duration_s = 0.001;
  f.peak_dB = peak_dB;
  f.excess_dB = peak_dB + 50.0;
  f.audibility = peak_dB > -25.0 ? works::Audibility::plain : works::Audibility::slight;
  return f;
}

inline works::Pattern pattern(int id,
                              works::PatternKind kind,
                              std::int64_t first,
                              std::int64_t last) {
  works::Pattern p;
  p.id = id;
  p.kind = kind;
  p.first_revolution = first;
  p.last_revolution = last;
  return p;
}

/// Every kind of fault, two patterns, a large offset, a tenth of the side not heard.
inline works::ListeningReport faulty_lp() {
  using works::FaultKind;
  works::ListeningReport r = clean_lp();
  r.capture.path = "captures/faulty side with a rather long name.wav";
  int id = 0;
  for (int i = 0; i < 60; ++i)
    r.faults.push_back(fault(++id,
                             i % 5 == 0 ? FaultKind::pop : FaultKind::tick,
                             17.3 + i * 18.37,
                             -42.0 + (i * 7) % 23));
  auto radial = pattern(1, works::PatternKind::radial, 223, 237);
  radial.angle_deg = 270.0;
  for (int i = 0; i < 14; ++i) {
    r.faults.push_back(fault(++id, FaultKind::tick, 402.75 + i * 1.8, -16.0 - i));
    radial.faults.push_back(id);
  }
  auto arc = pattern(2, works::PatternKind::arc, 500, 560);
  arc.faults = {3, 4};
  arc.angle_deg = 40.0;
  arc.angle_span_deg = 50.0;
  r.patterns = {radial, arc};
  for (const FaultKind kind : {FaultKind::burst,
                               FaultKind::dropout,
                               FaultKind::clip,
                               FaultKind::repeat,
                               FaultKind::jump}) {
    ++id;
    r.faults.push_back(fault(id, kind, 120.0 + 61.7 * (id % 9), -8.0 - id % 4));
  }
  r.wow.eccentricity_m = 212e-6;
  r.wow.eccentricity_sigma_m = 11e-6;
  r.wow.eccentricity_direction_deg = 120.0;
  for (std::size_t i = 0; i < 3 * 36; ++i) r.noise.polar->dB[i].reset();
  r.verdict.pass = false;
  r.verdict.reasons = {
      {"jumps_allowed",
       2.0,
       0.0,
       "the stylus left the groove 2 times, not allowed: first a repeat at 8:10.200, 113.3 mm from "
       "the centre"},
      {"plain_faults_per_side",
       33.0,
       2.0,
       "27 plain faults, limit 0: the loudest at 6:06.800, 121.5 mm from the centre"},
      {"eccentricity_m",
       212e-6,
       2e-4,
       "hole 0.212 mm off the groove's centre (± 0.011 mm), limit 0.2 mm: the centre lies towards "
       "120°"},
      {"weighted_noise_dB", -50.1, -56.0, "Surface noise at -50.1 dB, limit -56 dB (A-weighted)"}};
  return r;
}

/// A coarse-groove side full of crackle.
inline works::ListeningReport crackling_78() {
  works::ListeningReport r = faulty_lp();
  r.capture.path = "captures/78.wav";
  r.geometry.format = "10in-78";
  r.geometry.rpm = 78.26;
  r.geometry.outer_radius_m = 0.1205;
  r.geometry.inner_radius_m = 0.050;
  r.geometry.pitch_m = 2.7e-4;
  r.reference->file.duration_s = 195.0;
  r.heard = {{0.0, 195.0}};
  r.noise.polar.reset();
  r.faults.clear();
  r.patterns.clear();
  for (int i = 0; i < 900; ++i) {
    const double turns = 0.28 * i + 0.37 * ((i * 37) % 11);
    auto f = fault(i + 1,
                   i % 9 == 0 ? works::FaultKind::pop : works::FaultKind::tick,
                   turns * 60.0 / 78.26,
                   -44.0 + (i * 13) % 27);
    f.angle_deg = 360.0 * (turns - std::floor(turns));
    f.radius_m = 0.1205 - turns * 2.7e-4;
    r.faults.push_back(f);
  }
  r.wow = {};
  r.undetermined = {{"wow.eccentricity_m", "drive wander hides it"}};
  return r;
}

inline works::ListeningReport wrong_title() {
  works::ListeningReport r = clean_lp();
  r.alignment = works::Alignment{};
  r.heard.clear();
  r.wow = {};
  r.noise = {};
  r.verdict.pass = false;
  r.verdict.reasons = {
      {"programme", 0.0, 0.0, "The capture does not hold the reference's programme"}};
  return r;
}

inline works::ListeningReport without_cut() {
  works::ListeningReport r = clean_lp();
  r.alignment.reset();
  r.reference.reset();
  r.heard.clear();
  r.wow = {};
  r.noise = {};
  r.verdict = {};
  works::FaultEvent f;
  f.id = 1;
  f.capture_s = 12.0;
  f.peak_dB = -12.0;
  r.faults = {f};
  return r;
}

}  // namespace goodside::draw::samples

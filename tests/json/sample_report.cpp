#include "json/sample_report.hpp"

namespace goodside::test {

using namespace works;

namespace {

FaultEvent tick() {
  FaultEvent event;
  event.id = 1;
  event.kind = FaultKind::tick;
  event.capture_s = 13.1234567;
  event.programme_s = 10.7654321;
  event.revolution = 5;
  event.angle_deg = 353.06;
  event.angle_sigma_deg = 1.5;
  event.radius_m = 0.1455;
  event.radius_sigma_m = 0.0002;
  event.duration_s = 0.000123;
  event.peak_dB = -12.34;
  event.excess_dB = 21.5;
  event.channel = FaultChannel::left;
  event.plane = Plane::vertical;
  event.audibility = Audibility::plain;
  event.margin_dB = 9.25;
  event.pattern = 1;
  event.nature = Nature::dirt;
  event.nature_probability = 0.9375;
  return event;
}

FaultEvent skip() {
  FaultEvent event;
  event.id = 2;
  event.kind = FaultKind::jump;
  event.capture_s = 40.0;
  event.duration_s = 0.001;
  event.peak_dB = -3.0;
  event.excess_dB = 40.0;
  event.audibility = Audibility::slight;
  event.programme_jump_s = 1.8;
  return event;
}

}  // namespace

ListeningReport sample_report() {
  ListeningReport report;
  report.capture = {.path = "captures/side A.wav",
                    .sample_rate_Hz = 96000.0,
                    .channels = 2,
                    .duration_s = 80.5,
                    .sha256 = std::string(64, 'a')};
  report.reference = {.file = {.path = "cut.flac",
                               .sample_rate_Hz = 44100.0,
                               .channels = 2,
                               .duration_s = 78.0,
                               .sha256 = std::string(64, 'b')},
                      .kind = ReferenceKind::cutting_feed};
  report.heard = {{0.0, 40.25}, {41.0, 78.0}};
  report.geometry = {.format = "12in-33",
                     .rpm = 100.0 / 3.0,
                     .outer_radius_m = 0.1463,
                     .inner_radius_m = 0.06,
                     .pitch_m = 1.016e-4};
  report.alignment = {.found = true,
                      .programme_start_s = 2.3456789,
                      .programme_end_s = 80.34,
                      .programme_sigma_s = 1e-6,
                      .speed_error_ppm = -123.45,
                      .drive_error_ppm = std::nullopt,
                      .gain_dB = -1.5,
                      .polarity = -1,
                      .channels = ChannelOrder::as_cut,
                      .confidence = 0.97};
  report.wow.eccentricity_m = 0.0001234;
  report.wow.eccentricity_sigma_m = 3e-6;
  report.wow.eccentricity_direction_deg = 271.5;
  report.wow.arm_corrected = true;
  report.wow.once_per_rev_peak = {.outer = 0.00084, .inner = 0.002};
  report.wow.weighted_2sigma = 0.00061;
  report.wow.weighted_peak = 0.00083;
  report.wow.curve = {.time_s = {0.0, 0.02, 0.04}, .deviation = {0.001, -0.00025, 0.0}};
  report.levels.third_octave = {{250.0, -0.1, 0.2, 0.0125}, {1000.0, 0.0, 0.05}};
  report.levels.balance_dB = 0.3;
  report.levels.balance_sigma_dB = 0.0021;
  report.levels.separation_dB = 24.0;
  report.levels.separation_sigma_dB = 0.125;
  report.faults = {tick(), skip()};
  report.patterns = {{.id = 1,
                      .kind = PatternKind::radial,
                      .faults = {1},
                      .first_revolution = 5,
                      .last_revolution = 9,
                      .angle_deg = 353.0,
                      .angle_span_deg = 2.0}};
  report.noise.weighted_dB = -52.5;
  report.noise.rumble_dB = -41.0;
  report.noise.weighted_reference = "A-weighted, 0 dB is full scale of the cut";
  report.noise.rumble_reference = "10 to 315 Hz, 0 dB is full scale of the cut";
  report.noise.weighted_468_dB = -47.25;
  report.noise.weighted_468_reference = "468-weighted rms, 0 dB is full scale of the cut";
  report.noise.weighted_k_dB = -50.75;
  report.noise.weighted_k_reference = "K-weighted, 0 dB is full scale of the cut";
  report.noise.rumble_unweighted_dB = -29.0;
  report.noise.rumble_unweighted_reference = "10 to 315 Hz, flat";
  report.warp = HeardWarp{.once_per_turn_dB = -31.5,
                          .harmonics_dB = std::nullopt,
                          .background_dB = -55.0,
                          .reference = "vertical, 0 dB is full scale of the cut"};
  report.tone = Tone{.nominal_Hz = 3150.0,
                     .measured_Hz = 3153.25,
                     .from_s = 4.5,
                     .to_s = 64.5,
                     .speed_error_ppm = 1031.75,
                     .speed_sigma_ppm = 2.5,
                     .drift_ppm_per_min = -12.5,
                     .weighted_2sigma = 0.00061,
                     .weighted_peak = 0.0009,
                     .unweighted_2sigma = 0.0011,
                     .unweighted_peak = 0.0016,
                     .noise_2sigma = 0.00004};
  report.turn = Turn{.rpm = 33.984,
                     .sigma_rpm = 0.027,
                     .nominal_rpm = 33.333333,
                     .evidence = {"repeat", "ticks"},
                     .chance = 3.5e-7};
  report.noise.polar = PolarMap{.revolutions_per_row = 4.0,
                                .columns = 3,
                                .rows = 2,
                                .dB = {-50.0, std::nullopt, -51.25, -49.0, -48.0, -47.5},
                                .coverage = {0.9, 0.0, 0.5, 1.0, 1.0, 0.25},
                                .reference = "full scale of the cut"};
  report.noise.echo.lead_dB = -47.0;
  report.verdict = {.pass = false,
                    .limits = "12in-33",
                    .reasons = {{.rule = "jumps_allowed",
                                 .value = 1.0,
                                 .limit = 0.0,
                                 .text = "1 skip, none is allowed"}}};
  report.masked_count = 3;
  report.undetermined = {{"alignment.drive_error_ppm", "the sound card's clock is not known"},
                         {"noise.hum_dB", "no mains line stands out"}};
  report.remarks = {"decimated to 96 kHz"};
  return report;
}

}  // namespace goodside::test

/** A whole 20-minute side as the server sends one: 167 rows of noise, 400 faults, a wow curve of 2000 points. */
export function long_side(report) {
  const rpm = 100 / 3,
    outer_radius_m = 0.1463,
    inner_radius_m = 0.06,
    length_s = 1200;
  const pitch_m = (outer_radius_m - inner_radius_m) / ((length_s * rpm) / 60);
  let seed = 1;
  const chance = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  const faults = Array.from({ length: 400 }, (_, i) => {
    const programme_s = chance() * length_s,
      turns = (programme_s * rpm) / 60;
    return {
      id: i + 1,
      kind: ["tick", "tick", "tick", "pop", "burst"][i % 5],
      capture_s: programme_s + 4,
      programme_s,
      revolution: Math.floor(turns),
      angle_deg: 360 * (turns % 1),
      angle_sigma_deg: 1,
      radius_m: outer_radius_m - turns * pitch_m,
      radius_sigma_m: 0.0003,
      duration_s: 0.001,
      peak_dB: -40 + 30 * chance(),
      excess_dB: 20,
      channel: "both",
      plane: "lateral",
      audibility: i % 3 === 0 ? "plain" : "slight",
      margin_dB: 3,
      pattern: null,
    };
  });
  const rows = 167,
    columns = 24;
  return {
    report,
    shape: {
      format: "12in-33",
      rpm,
      outer_radius_m,
      inner_radius_m,
      pitch_m,
      edge_radius_m: 0.1505,
      label_radius_m: 0.051,
      hole_radius_m: 0.00362,
    },
    duration_s: 1210,
    programme_start_s: 4,
    programme_end_s: 1204,
    heard: [[0, length_s]],
    faults,
    patterns: [],
    polar: {
      revolutions_per_row: 4,
      columns,
      rows,
      reference: "dB",
      dB: Array.from({ length: rows }, (_, r) =>
        Array.from({ length: columns }, (_, c) => (r === 80 ? null : -70 + 5 * Math.sin(c / 4) + 2 * chance())),
      ),
    },
    offset: { eccentricity_m: 0.00012, eccentricity_sigma_m: 0.000004, eccentricity_direction_deg: 200 },
    verdict: {
      pass: false,
      limits: "12in-33",
      reasons: [{ rule: "plain_faults_per_side", value: 134, limit: 2, text: "134 plain faults, limit 2" }],
    },
    alignment: {
      found: true,
      programme_start_s: 4,
      programme_end_s: 1204,
      programme_sigma_s: 0.0001,
      speed_error_ppm: 0,
      drive_error_ppm: null,
      gain_dB: -6,
      polarity: 1,
      channels: "as cut",
      confidence: 0.98,
    },
    levels: {
      third_octave: [
        { centre_Hz: 125, left_dB: 0, right_dB: 0 },
        { centre_Hz: 8000, left_dB: -1, right_dB: -1 },
      ],
      balance_dB: 0,
      separation_dB: 27,
      high_loss_dB_per_m: null,
    },
    wow: {
      once_per_rev_peak: { outer: 0.0008, inner: 0.002 },
      weighted_2sigma: 0.0007,
      curve: {
        time_s: Array.from({ length: 2000 }, (_, i) => 4 + i * 0.6),
        deviation: Array.from({ length: 2000 }, (_, i) => 0.001 * Math.sin(i / 3)),
      },
    },
    noise: { weighted_dB: -62, rumble_dB: -70, hum_dB: -75 },
    undetermined: [],
    remarks: [],
  };
}

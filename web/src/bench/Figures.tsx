import type { HeardSide } from "../contracts";
import { capital, decibel, field_words, signed_decibel } from "../units";

/** Noise, rumble and hum with their references, and by name what could not be known. */
export function Figures({ report }: { report: HeardSide }) {
  const { noise, alignment } = report;
  return (
    <>
      <section aria-label="Noise">
        <h2>Noise and hum</h2>
        <dl class="figures">
          <dt>Surface noise</dt>
          <dd>
            {decibel(noise.weighted_dB)} <span class="quiet">{noise.weighted_reference}</span>
          </dd>
          <dt>Rumble</dt>
          <dd>
            {decibel(noise.rumble_dB)} <span class="quiet">{noise.rumble_reference}</span>
          </dd>
          <dt>Hum</dt>
          <dd>
            {decibel(noise.hum_dB)} <span class="quiet">{noise.hum_reference}</span>
          </dd>
          {alignment && (
            <>
              <dt>Gain</dt>
              <dd>
                {signed_decibel(alignment.gain_dB, 2)}{" "}
                <span class="quiet">capture against cut, channels {alignment.channels}</span>
              </dd>
            </>
          )}
        </dl>
      </section>
      {(report.undetermined.length > 0 || report.remarks.length > 0) && (
        <section aria-label="Not known">
          <h2>What could not be known</h2>
          <ul class="quiet-list">
            {report.undetermined.map((one) => (
              <li key={one.field}>
                {field_words(one.field)}: {one.why}
              </li>
            ))}
            {report.remarks.map((remark) => (
              <li key={remark}>{capital(remark)}</li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

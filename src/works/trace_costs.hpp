#pragma once

namespace goodside::works {

/// What looking and mending take in a works. The defaults are invented for a small works (common
/// practice, no source) and are meant to be replaced. Money in one currency, whichever.
struct TraceCosts {
  // Minutes of work for each way to look.
  double hear_min{25.0};        ///< fetch a disc and hear a whole side
  double spot_hear_min{5.0};    ///< fetch a disc and drop the needle at one radius
  double microscope_min{12.0};  ///< the stamper under the microscope at one place
  double play_mother_min{30.0};
  double look_at_father_min{30.0};
  double minute{0.5};  ///< a minute of a listener or inspector

  // Money for each way to act.
  double wash{15.0};            ///< clean mould and stamper, mount again
  double new_stamper{120.0};    ///< pull it and grow another from the mother
  double new_mother{260.0};     ///< from the father, with a stamper
  double new_father{600.0};     ///< a new cut, father, mother and stamper
  double disc{1.5};             ///< a disc scrapped
  double flawed_disc_out{6.0};  ///< a disc with the fault reaches a customer
  double inspect_disc{0.5};     ///< one disc of a suspect range spot-heard and sorted
  double discs_to_come{300.0};  ///< closings still wanted from a stamper set
};

}  // namespace goodside::works

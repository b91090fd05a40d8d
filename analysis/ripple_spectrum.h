// Which lines stand out of the spectrum of this waveform, and at which frequency exactly?
//
//   Hann window, unpadded transform of the longest length with factors 2, 3 and 5; local maxima;
//   frequency between bins from the ratio a of the larger neighbour to the peak,
//   delta = (2a - 1) / (a + 1), exact for one sinusoid far from 0 and from its neighbours.
//   Floor: median of the power in blocks of bins, over ln 2, which is the mean of white noise.
//
// Range: at least 64 finite samples.  The transform is Eigen's.

#pragma once

#include <span>
#include <vector>

namespace endgate::analysis {

struct SpectrumPeak {
  double position_bins = 0;   // frequency * length of the record
  double power_to_floor = 0;  // above noise alone: exponential with mean 1
};

struct RippleSpectrum {
  double bin_hz = 0;
  std::vector<SpectrumPeak> peaks;  // by frequency, those above three times the floor
};

// `block_bins`: wide against a line, narrow against the change of the floor.
[[nodiscard]] RippleSpectrum ripple_spectrum(std::span<const double> samples, double sample_rate_hz,
                                             std::size_t block_bins);

}  // namespace endgate::analysis

// Single lines of a spectrum of a few hundred values, at any frequency: what bands and edges need, where a
// fast transform would only give whole ones.
#pragma once

#include <complex>
#include <span>
#include <vector>

namespace rookery::vision {

// Σ x[n]·exp(−2πi·f·n). f: cycles a value. Linear in the number of values. any-thread.
std::complex<double> compute_line(std::span<const double> values, double cycles_per_value);

// Takes off the straight line that fits best.
void detrend(std::span<double> values);

// Multiplies with Hann's window; returns its sum, by which twice a line's modulus is a sine's amplitude.
double apply_hann(std::span<double> values);

}  // namespace rookery::vision

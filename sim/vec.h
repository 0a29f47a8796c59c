// Small vectors and the noise that materials and motion are made of. Pure.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace rookery::sim {

struct Vec3 {
  float x = 0;
  float y = 0;
  float z = 0;
};

inline Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
inline Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
inline Vec3 operator*(Vec3 a, Vec3 b) { return {a.x * b.x, a.y * b.y, a.z * b.z}; }
inline Vec3 operator*(Vec3 a, float s) { return {a.x * s, a.y * s, a.z * s}; }
inline Vec3& operator+=(Vec3& a, Vec3 b) { return a = a + b; }
inline float dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline float length(Vec3 a) { return std::sqrt(dot(a, a)); }
inline Vec3 unit(Vec3 a) { return a * (1.0F / std::max(1e-9F, length(a))); }
inline Vec3 mix(Vec3 a, Vec3 b, float t) { return a + (b - a) * t; }
inline float mix(float a, float b, float t) { return a + (b - a) * t; }
inline float clamp01(float v) { return std::clamp(v, 0.0F, 1.0F); }
inline float smooth(float low, float high, float v) {
  const float t = clamp01((v - low) / (high - low));
  return t * t * (3 - 2 * t);
}

// std::floor is a library call on plain x86-64; this is not. |v| < 2³¹.
inline int floor_int(float v) {
  const int i = static_cast<int>(v);
  return static_cast<float>(i) > v ? i - 1 : i;
}
inline float fraction(float v) { return v - static_cast<float>(floor_int(v)); }

inline std::uint32_t hash32(std::uint32_t v) {
  v ^= v >> 16;
  v *= 0x7FEB352DU;
  v ^= v >> 15;
  v *= 0x846CA68BU;
  return v ^ (v >> 16);
}
inline std::uint32_t hash32(std::uint32_t a, std::uint32_t b) {
  return hash32(a ^ (hash32(b) + 0x9E3779B9U));
}
// 0 ≤ v < 1.
inline float hash01(std::uint32_t a, std::uint32_t b = 0) {
  return static_cast<float>(hash32(a, b) >> 8) * (1.0F / 16777216.0F);
}

// Smooth noise, 0–1, one feature a unit.
float noise3(Vec3 p);
// Four octaves of it, 0–1.
float fbm3(Vec3 p);
float noise1(float x, std::uint32_t seed);

}  // namespace rookery::sim

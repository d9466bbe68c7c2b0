// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// One door to Catch2: version 2 has one header; version 3 splits it.
#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
using Catch::Approx;
#else
#include <catch2/catch.hpp>
#endif

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

// SPDX-License-Identifier: GPL-3.0-or-later
// Precompiled for the editor's sources; no source relies on it.
#pragma once

#include <QtWidgets>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

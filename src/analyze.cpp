#include "platetally/analyze.hpp"

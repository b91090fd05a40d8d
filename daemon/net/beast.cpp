// Beast is compiled once, here; every other unit sees declarations only.

#include <boost/beast/src.hpp>

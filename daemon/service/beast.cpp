// The one translation unit that holds Beast's compiled parts.
#include <boost/beast/src.hpp>

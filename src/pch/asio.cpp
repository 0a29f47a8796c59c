// Boost.Asio and Boost.Beast, compiled once for the whole program.
#include <boost/asio/impl/src.hpp>
#include <boost/asio/ssl/impl/src.hpp>
#include <boost/beast/src.hpp>

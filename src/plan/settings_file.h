// A person's own settings template, filled with one camera's name, network, key and pins: what goes into the
// firmware's source before it is loaded.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "base/result.h"
#include "plan/plan_file.h"

namespace rookery::plan {

// `text` as the inside of a C or C++ string literal: quotes, backslashes, question marks (trigraphs), control
// characters and everything beyond ASCII are escaped, the latter as three octal digits, which no digit behind
// them can lengthen.
std::string c_escaped(std::string_view text);

// Fills a Mustache template (mustache(5)): {{name}} is the camera's name, {{page}} the address of its page,
// every other name one of its settings. {{x}} is escaped for a C string; {{{x}}} and {{&x}} put it in as it
// stands, which only values of letters, digits and _ . : / + - may be, so that a quote or a backslash in a
// network's key cannot break the source.
// {{#x}}…{{/x}} stays when x is there and is neither empty nor "no". `where` is the template's name, for
// errors, which never hold a value. Errors: malformed (no Mustache), invalid_value (a name that the camera
// has no value for; a value that cannot be put in as it stands; a value with a control character),
// unsupported ({{> partial}}).
base::Result<std::string> fill_settings(std::string_view text, const CameraPlan& camera,
                                        const std::string& where);

}  // namespace rookery::plan

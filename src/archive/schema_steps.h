// Inner: what each version of the catalog added to the one before, as SQL. A step that was released is never
// changed.
#pragma once

namespace rookery::archive::schema {

extern const char* const kStep1;
extern const char* const kStep2;
extern const char* const kStep3;
extern const char* const kStep4;
extern const char* const kStep5;
extern const char* const kStep6;
extern const char* const kStep7;
extern const char* const kStep8;
extern const char* const kStep9;

}  // namespace rookery::archive::schema

#include "engine/registration/rule_list.hpp"

#include <array>

namespace calcant {
namespace {

constexpr std::array<PracticeRule, 43> all{{
    {"R1",
     "A chorus stands on 8 ft; 8, 8 and 4 are good; 4 and 2 without 8 are not, unless played an octave lower on "
     "purpose",
     "a church musician's pages, 2016; training pages"},
    {"R2", "No gap in the ladder of octaves: a 2 ft wants a 4 ft under it, unless a colour is meant",
     "a church musician's pages, 2016"},
    {"R3", "A twelfth is never drawn in the chorus without the fifteenth",
     "W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, ch. XIII"},
    {"R4",
     "Order from soft to loud: softest 8, stopped 8, flute 4, Open Diapason, Principal, Swell coupled, Fifteenth (with "
     "Twelfth), Swell reed, Mixture, octave coupler, manual 16",
     "common practice c. 1900; agrees with Dickson's two rules"},
    {"R5", "A flute 4 on diapasons without the Principal: silvery, a clear pitch for unsure singers", "Dickson"},
    {"R6", "Two of one family and pitch on one manual add little and blur each other's tuning",
     "Grove, Dictionary of Music, vol. 4, p. 180"},
    {"R7", "A string-toned stop with the diapason chorus nearly always spoils it", "Grove"},
    {"R8", "A celeste only with its own partner and perhaps a soft 8 ft flute, never in a chorus or a build-up",
     "a tuner's advice page; G. L. Miller, The Recent Revolution in Organ Building, 1913"},
    {"R9", "The tremulant off in choruses and hymns", "The Etude, March 1900"},
    {"R10", "The old rule rounds a reed with a stopped 8 ft; a good reed stands alone", "Miller"},
    {"R11", "Manual 16 ft sparingly, and no thick chords on it below tenor G", "Grove; the threshold is ours"},
    {"R12", "Manual 16 ft never to give out a fugue's subject", "Grove"},
    {"R13", "16 with 8, 4 and 2 is weight, 16 without 4 is mud", "common practice"},
    {"R14", "A 16 played an octave higher, a 4 an octave lower, serves as another 8", "common practice"},
    {"R15", "The pedal sounds 16 and 8", "training pages; common practice"},
    {"R16",
     "The pedal is not louder than the manual it carries (2 phon are allowed: ours), and not so far under it that the "
     "bass is lost (10 phon: ours)",
     "training pages; common practice"},
    {"R17", "The pedal's coupler follows the hands", "Miller, ch. VI"},
    {"R18", "Rest the pedal", "Grove"},
    {"R19", "No 16 ft is left sounding through a coupler when the bass is the hands'", "ours"},
    {"R20", "Couplers left drawn take away the contrast between the manuals", "Grove; Dickson"},
    {"R21", "A warm swell box and cold outside pipes drift apart by 3 cents a kelvin", "Grove; computed"},
    {"R22", "Octave couplers add sets of notes, and a pipe sounds once however it is reached", "physics; Dickson"},
    {"R23", "An octave coupler without twelve notes more runs out at the top", "Miller; Dickson"},
    {"R24", "An octave coupler is near to, not the same as, a 4 ft of everything", "physics; Dickson"},
    {"R25", "The sub-octave thickens low chords", "common practice"},
    {"R26", "Wind: what a full chord takes against what the blower gives", "Miller on robbing; computed"},
    {"R27", "Kinds of couplers and their names", "Grove, \"Coupler\""},
    {"R28", "A solo over its accompaniment, on another manual", "common practice"},
    {"R29", "No coupler between a solo and its accompaniment", "common practice"},
    {"R30", "A moving box under singers pulls them off pitch: the open manual is better", "Dickson"},
    {"R31", "A lever swell pedal rests at its hitches", "Miller, ch. VII"},
    {"R32", "The box sparingly", "Dickson"},
    {"R33", "Open the box before adding stops", "common practice"},
    {"R34", "Nothing is moved within a phrase; a change needs a free hand long enough",
     "Miller, ch. VII; The Etude; times are ours"},
    {"R35", "Leave the box open when you go", "a builder's page; Miller"},
    {"R36", "The least that leads a hymn: 8 and 4 on the manuals, 16 and 8 in the pedal", "training pages"},
    {"R37", "Verses by their words; a quiet verse on 8 and 4 ft without mixture or chorus reed",
     "a church musician's pages; training pages; common practice"},
    {"R38", "The play-over gives verse 1's tempo and mood",
     "a church musician's pages; training pages; common practice"},
    {"R39", "The first verse is not the loudest", "a church musician's pages; training pages; common practice"},
    {"R40", "Never under the singers", "a church musician's pages; training pages; common practice"},
    {"R41", "One steady breath between verses", "a church musician's pages; training pages; common practice"},
    {"R42", "Balance is judged in the nave, not at the bench", "a visitor's guide, 2020s"},
    {"R43", "Two pedal notes a fifth apart suggest the octave below", "Miller, ch. X"},
}};

}  // namespace

std::span<const PracticeRule> practice_rules() { return all; }

}  // namespace calcant

// What several tests ask with.
export const date = '2026-11-29';
export const draw = 'Great: Open Diapason 8';
export const keys = 'Great:C4,E4,G4';
export const piece = 'dundee.musicxml';
export const board = {
  name: 'First Sunday in Advent',
  singers: 30,
  items: [
    { kind: 'hymn', number: '58', title: 'Dundee', key: 'E flat', metre: '8.6.8.6', verses: 2, bass: 'feet', words: ['', 'soft'], score: piece },
    { kind: 'psalm', number: '23', key: 'F', verses: 3, words: ['gentle'], gloria: false },
  ],
};

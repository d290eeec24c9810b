"""One file that holds a trip folder and loses no record.

Nothing lost: what is held, what is kept, what is guaranteed

- **One writer.** Whoever changes a folder or a logbook holds it from the first look to the last byte (`files/held.py`):
  a lock of the operating system on the empty `.tripplan.lock` in the folder, or `.NAME.lock` beside the logbook. It ends
  with its program, however that ends; the file that stays means nothing. A logbook is held before its folder, a folder
  before its outputs. Who waits more than 60 s (the page 20 s) is refused with K05: nothing written, what was typed kept
  (the page answers 503 with the form in it). Reading holds nothing. `plan` plans again when the folder changed meanwhile.
- **Told when done.** Over a logbook nothing is printed before the commit (`held_back` in `commands/terminal.py`); over a
  folder nothing before the file is flushed. An answer that cannot be printed ends with status 2; the record is kept.
- **Whole files.** Written beside, flushed, renamed; links and rights stay; `.NAME.xxxxxxxxxxxx.part~` left by a kill is
  swept by the next holder, `tripplan-passing-*` among the temporary files by the next start.
- **An older state never replaces a newer.** A folder and its logbook keep what they had in common (`.logbook.json`). A
  file not touched in the folder since says nothing when it is taken in; one changed on both sides is refused with J09.
  `write-out` keeps what it replaces in `.before` of the folder, the last twenty times, and moves there what the logbook has no
  more and nobody touched. A crossing made goes with its entry by leg and km, else by leg and moment (`pairing.py`); one that
  a folder lacks stays, but for what a save of the page took out.
- **No photos.** A logbook is opened, checked byte by byte and laid out whole by every command; a hundred photos of 350 kB made
  each save ten times as slow. They stay in the folder; `take-in` names them.
- **Damage.** Each record has a mark of its own and one that ties it to all before (`files/logbook/chain.py`). A damaged
  record is told with J10 and left out, the rest is read, nothing is added until `tripplan logbook mend FILE`; that saves
  every record whose own mark fits, from the leaves of the file if its trees are broken, and keeps the damaged file
  beside. Logbooks without marks are read as they are and marked, after a copy, when first added to. The marks show
  accidents, not malice: whoever can write the file can write marks too.
- **Guaranteed** on local disks of Linux (flock), macOS (flock) and Windows (byte-range lock of the C runtime): one
  writer, and after the acknowledgement the record survives the end of the program and, where the disk obeys a flush, of
  the power. Measured on Linux only. macOS flushes to the drive, not through its cache: a power cut may take the last
  record there. **On network folders** one writer at a time holds where the server and the mount carry locks (NFS from
  version 3 with its lock service or 4, SMB between its own clients); SQLite's file is a rollback journal, not a
  write-ahead log, so it needs no shared memory, but the server must still carry locks. Where a file system knows no
  locks the library falls back to a marker file, which a killed program leaves behind. Folders that a service copies
  between machines are not one folder: two machines that write in one hour make two versions, and no lock sees it.
- **One way in, one way out.** `files/way_in.py` opens regular files only, never waits, bounds size, figures and nesting;
  `files/workbooks.py` judges a workbook before a library opens it; `commands/terminal.py` shows control and direction
  marks as what they are and what the character set lacks as `?`. `tests/house/test_one_way.py` lets nobody go round.
- **Tried** by `python -m tests.commands.hands races 500`, `... kills 2000`, `python -m tests.properties.fuzz_light 3600`
  and `... fuzz_everything 3600` (seconds); a few of each run with the tests (`TRIPPLAN_RACES`, `TRIPPLAN_KILLS`,
  `TRIPPLAN_FLIPS`, `TRIPPLAN_FUZZ_S` for more).
"""

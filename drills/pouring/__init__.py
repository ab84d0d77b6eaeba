"""The next flight: which wines, in which order, under which codes. Pure; chance only from a seed.

No database, no clock, no disk. numpy and scipy are imported where they are needed, never with the
package.

- `choice`: which wines to pour, and why each; `programme` solves it exactly, `greedy` for
  comparison;
- `designs`: serving orders and incomplete blocks; `serving`: an order for every taster;
- `codes`: three-digit blind codes.
"""

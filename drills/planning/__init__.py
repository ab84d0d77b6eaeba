"""The best use of the next minutes, worked out over all contrasts at once. Pure.

All but `pace` need numpy, which a drill loads while its first card is being read.
"""

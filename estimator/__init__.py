"""Dropledger: one project file carries a low-voltage cabling job from bid to handover."""

"""Cases for trainees: the room in which they act, their score, and what is said of it afterwards."""

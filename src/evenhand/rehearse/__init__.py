"""Invents trials whose truth is known, to test what estimates and to show what a judgement looks like.

Never shares a model with anything that estimates. What reconstructs blood glucose takes it for a Gaussian
process with three poles, fluid as its first-order lag, and sensor errors as noises with exponential memory.
Here, on purpose, nothing is of that form:

- blood is made of meals, doses, corrections, rescues, dawn, exercise, day levels and wobble: shaped pulses of
  random size and time, never a filtered white noise;
- fluid follows blood through a distributed delay: a pure delay and a gamma-shaped kernel;
- slow sensor errors are steps, slopes and bursts; fast ones are moving averages of heavy-tailed shocks with
  humps among them; first-day trouble fades hyperbolically or wanders, last-day trouble grows in a straight line;
- the meter's error is a mixture with rare gross sticks.

Start at `invent.invent(world, seed)`; worlds with a name are in `scenarios` and `demo`, files in `files`.
"""

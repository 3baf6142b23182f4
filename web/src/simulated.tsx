/** The strip that keeps a pretend rig from being taken for a real one: on every screen, always. */

export function Simulated({ pace }: { pace: number | null }) {
  const speed =
    pace === null || pace === 1 ? "" : pace === 0 ? "standing still" : `${+pace.toFixed(1)} times as fast`;
  return (
    <div class="simulated" data-show="simulated" role="note">
      <b>SIMULATED</b> <span>rig{speed && `, ${speed}`}</span>
    </div>
  );
}

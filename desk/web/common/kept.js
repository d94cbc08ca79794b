// What this machine keeps for the next job: units, paper, the printer's rulers, names of rooms.

import {ask} from './api.js';

// store.settings as the desk told them; what is kept is sent at once. A machine that cannot keep it is no reason to hold anybody up.
export async function keep(store, told) {
  store.settings = {...store.settings, ...told};
  try {
    store.settings = await ask('PUT', '/api/settings', {json: told});
    store.dispatchEvent(new Event('kept'));
  } catch (error) {
    store.settings = {...store.settings, says: error.says ?? error.message};
  }
}

// The rulers this machine's printer was measured by, where they hold for this job and it says nothing itself; else null.
export function ownRulers({job, settings}) {
  const {rulers} = settings;
  return !job.rulers && rulers?.show === (job.show ?? 'metric') ? rulers : null;
}
